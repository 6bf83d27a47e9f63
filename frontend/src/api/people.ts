import type { FeatureCollection } from 'geojson'
import { post } from '../outbox/action'
import { csrfHeader, get, reach } from './client'
import type { Community, InvitationSeen, OrganisationKind, Page, Session } from './types'

const V1 = '/api/v1'

export const session = () => get<Session>(`${V1}/session/`)

export async function signOut(): Promise<void> {
  await reach(`${V1}/session/`, { method: 'DELETE', headers: csrfHeader() })
}

/** Sign in by a one-time link. */
export async function useLink(token: string): Promise<Session> {
  const response = await reach(`${V1}/session/link/`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', ...csrfHeader() },
    body: JSON.stringify({ token }),
  })
  return (await response.json()) as Session
}

export const communities = () => get<Page<Community>>(`${V1}/communities/`)
export const community = (slug: string) =>
  get<Community>(`${V1}/communities/{community}/`, { community: slug })
export const roadMap = (slug: string) =>
  get<FeatureCollection>(`${V1}/communities/{community}/road-map/`, { community: slug })

export const invitation = (token: string) =>
  get<InvitationSeen>(`${V1}/invitations/{token}/`, { token })

export interface Acceptance {
  email: string
  name: string
  organisation_name?: string
  organisation_kind?: OrganisationKind
}
export const acceptInvitation = (key: string, token: string, body: Acceptance) =>
  post<Session>(key, `${V1}/invitations/{token}/accept/`, { token }, body)
