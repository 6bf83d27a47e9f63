/** What was done, in words, with what was typed. */
import { t } from '../messages'
import { mass, share } from '../messages/formats'
import type { Deed } from '../rules/deeds'
import { netOf } from '../rules/mass'

export function deedWords(deed: Deed): string {
  if (deed.kind === 'report_fill') return t('deed.report_fill', { full: share(deed.percent / 100) })
  if (deed.kind !== 'collect') return t(`deed.${deed.kind}`)
  const { gross_g = null, tare_g = null, percent = 0 } = deed.reading
  const net_g = netOf(gross_g, tare_g)
  return net_g === null
    ? t('deed.collect_by_volume', { full: share(percent / 100) })
    : t('deed.collect', { mass: mass(net_g) })
}
