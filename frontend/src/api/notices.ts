import { post, put } from '../outbox/action'
import { get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'

export const notices = (community: string, query?: QueryOf<`${typeof C}/notices/`, 'get'>) =>
  get(`${C}/notices/`, { community }, query)
export const markRead = (key: string, community: string, notice_id: string) =>
  post(key, `${C}/notices/{notice_id}/read/`, { community, notice_id })
/** Mark as read all up to the newest that was shown. */
export const markAllRead = (key: string, community: string, until: string) =>
  post(key, `${C}/notices/read/`, { community }, { until })

export const noticeChoices = (community: string) => get(`${C}/notice-choices/`, { community })
export type NewChoices = BodyOf<`${typeof C}/notice-choices/`, 'put'>
export const chooseNotices = (key: string, community: string, body: NewChoices) =>
  put(key, `${C}/notice-choices/`, { community }, body)

export const calendarFeeds = (community: string) => all(`${C}/calendar-feeds/`, { community })
export const makeCalendarFeed = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/calendar-feeds/`, 'post'>,
) => post(key, `${C}/calendar-feeds/`, { community }, body)
export const revokeCalendarFeed = (key: string, community: string, feed_id: string) =>
  post(key, `${C}/calendar-feeds/{feed_id}/revoke/`, { community, feed_id })
