/** One's own account: name, data, roles given up, and tokens for machines. */
import { patch, post, send } from '../outbox/action'
import { type BodyOf } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'

export const DATA_ADDRESS = '/api/v1/account/data/'

export const nameMyself = (key: string, name: string) =>
  patch(key, '/api/v1/account/', {}, { name })
export const eraseMyself = (key: string, email: string) =>
  send<undefined>({ key, method: 'POST', address: '/api/v1/account/erase/', body: { email } })

export const leave = (key: string, community: string) => post(key, `${C}/leave/`, { community })
export const passOnOrganiser = (key: string, community: string, user_id: string) =>
  post(key, `${C}/organiser/pass-on/`, { community }, { user_id })
export const endMembership = (key: string, community: string, membership_id: string) =>
  post(key, `${C}/memberships/{membership_id}/end/`, { community, membership_id })

export const machineTokens = (community: string) => all(`${C}/machine-tokens/`, { community })
export const makeMachineToken = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/machine-tokens/`, 'post'>,
) => post(key, `${C}/machine-tokens/`, { community }, body)
export const revokeMachineToken = (key: string, community: string, token_id: string) =>
  post(key, `${C}/machine-tokens/{token_id}/revoke/`, { community, token_id })
