import { describe, expect, it } from 'vitest'
import {
  EMPTY_DRAFT,
  firstOpenStep,
  missingIn,
  STEPS,
  stepOfField,
  toNewPlace,
  type PlaceDraft,
} from './placeDraft'
import { PRESETS } from './windows'

const full: PlaceDraft = {
  ...EMPTY_DRAFT,
  organisation_name: ' Hollin Strand School ',
  kind: 'school',
  address: '2 Weir Lane',
  longitude: -30.1,
  latitude: 45.2,
  windows: [...PRESETS.school_day],
  stream_id: 's1',
  main_item: 'bottle-cap',
  container_kind: 'bag',
  container_volume_ml: 60_000,
  starts_on: '2026-09-07',
}

describe('registering a place', () => {
  it('starts with who it is', () => {
    expect(firstOpenStep(EMPTY_DRAFT)).toBe('who')
    expect(missingIn('who', EMPTY_DRAFT).map((m) => m.field)).toEqual(['organisation.name', 'kind'])
  })

  it('goes to the check once nothing is missing', () => {
    expect(firstOpenStep(full)).toBe('check')
    expect(STEPS.flatMap((step) => missingIn(step, full))).toEqual([])
  })

  it('a point on the equator and the prime meridian is a point', () => {
    expect(missingIn('where', { ...full, longitude: 0, latitude: 0 })).toEqual([])
  })

  it('a place without a name of its own takes that of its organisation', () => {
    expect(toNewPlace(full)).toMatchObject({
      name: 'Hollin Strand School',
      organisation: { name: 'Hollin Strand School', kind: 'school' },
      agreement: { containers: [{ kind: 'bag', volume_ml: 60_000, tare_g: 0, count: 1 }] },
    })
  })

  it('someone invited for an organisation does not make a second one', () => {
    const sent = toNewPlace({ ...full, organisation_id: 'o1', name: 'Gate house' })
    expect(sent.organisation_id).toBe('o1')
    expect(sent.organisation).toBeUndefined()
  })

  it('every field that is found missing leads back to the step that shows it', () => {
    for (const step of STEPS) {
      for (const { field } of missingIn(step, EMPTY_DRAFT)) expect(stepOfField(field)).toBe(step)
    }
  })
})
