/** Where one is signed in. */
import { dataOf } from './allauth'

export interface Device {
  id: number
  user_agent: string
  /** Seconds since 1970. */
  created_at: number
  is_current: boolean
}

export const devices = () => dataOf<Device[]>('GET', '/auth/sessions')

/** Sign others of one's devices out. */
export const signOutDevices = (ids: number[]) =>
  dataOf<Device[]>('DELETE', '/auth/sessions', { sessions: ids })
