import { post } from '../outbox/action'
import type { FeatureCollection } from 'geojson'
import { csrfHeader, get, getAddress, reach, type BodyOf } from './client'
import { all } from './pages'
import type { Session } from './types'

const C = '/api/v1/communities/{community}'

export const session = async (signal?: AbortSignal) =>
  (await getAddress('/api/v1/session/', signal)) as Session

export async function signOut(): Promise<void> {
  await reach('/api/v1/session/', { method: 'DELETE', headers: csrfHeader() })
}

/** Sign in by a one-time link; signing in twice changes nothing, so it needs no key. */
export async function signInByLink(token: string): Promise<Session> {
  const response = await reach('/api/v1/session/link/', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', ...csrfHeader() },
    body: JSON.stringify({ token }),
  })
  return (await response.json()) as Session
}

export const communities = () => all('/api/v1/communities/', {})
export const community = (slug: string) => get(`${C}/`, { community: slug })
export const roadMap = async (slug: string) =>
  (await get(`${C}/road-map/`, { community: slug })) as unknown as FeatureCollection

export const invitation = (token: string) => get('/api/v1/invitations/{token}/', { token })

export type Acceptance = BodyOf<'/api/v1/invitations/{token}/accept/', 'post'>
export const acceptInvitation = (key: string, token: string, body: Acceptance) =>
  post(key, '/api/v1/invitations/{token}/accept/', { token }, body)

export const addDistrict = (key: string, community: string, name: string) =>
  post(key, `${C}/districts/`, { community }, { name })

export const organisations = (community: string) => all(`${C}/organisations/`, { community })
export const members = (community: string) => all(`${C}/members/`, { community })
export const invitations = (community: string) => all(`${C}/invitations/`, { community })
export const invite = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/invitations/`, 'post'>,
) => post(key, `${C}/invitations/`, { community }, body)
