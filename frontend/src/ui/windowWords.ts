import type { AccessWindow } from '../api/types'
import { t } from '../messages'
import { list, weekday } from '../messages/formats'
import { byTimes, runs } from '../rules/windows'

/** Weekly windows in words: `Mon–Fri 08:00–15:00`. */
export function windowLines(windows: readonly AccessWindow[]): string[] {
  return byTimes(windows).map(({ weekdays, times }) => {
    const days = runs(weekdays).map(([first, last]) =>
      first === last
        ? weekday(first, 'short')
        : t('when.days', { first: weekday(first, 'short'), last: weekday(last, 'short') }),
    )
    return `${list(days)} ${times}`
  })
}
