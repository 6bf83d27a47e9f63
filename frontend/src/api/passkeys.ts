/** Passkeys: adding and taking away one's own, and signing in by one (WebAuthn level 3). */
import { t } from '../messages'
import { call, dataOf, refusal } from './allauth'
import { Problem } from './problem'

export interface Passkey {
  id: number
  type: string
  name: string
  /** Seconds since 1970. */
  created_at: number
  last_used_at: number | null
}

const OWN = '/account/authenticators/webauthn'

interface CreationOptions {
  creation_options: { publicKey: PublicKeyCredentialCreationOptionsJSON }
}
interface RequestOptions {
  request_options: { publicKey: PublicKeyCredentialRequestOptionsJSON }
}

/** Whether this browser can keep and show passkeys at this address: one of a name, not a number. */
export function canUsePasskeys(): boolean {
  const isNumber = /^[\d.]+$|^\[/.test(location.hostname)
  return !isNumber && typeof PublicKeyCredential?.parseRequestOptionsFromJSON === 'function'
}

export async function passkeys(): Promise<Passkey[]> {
  const all = await dataOf<Passkey[]>('GET', '/account/authenticators')
  return all.filter((one) => one.type === 'webauthn')
}

/** Let the device make a passkey, and keep its public half; raises Problem. */
export async function addPasskey(name: string): Promise<void> {
  const { creation_options } = await dataOf<CreationOptions>('GET', `${OWN}?passwordless`)
  const publicKey = PublicKeyCredential.parseCreationOptionsFromJSON(creation_options.publicKey)
  const credential = await asked(navigator.credentials.create({ publicKey }))
  await dataOf('POST', OWN, { name, credential })
}

export async function removePasskey(id: number): Promise<void> {
  await dataOf('DELETE', OWN, { authenticators: [id] })
}

export const signInByPasskey = () => show('/auth/webauthn/login')
/** Show again that it is oneself, as allauth asks before it changes a way in. */
export const showAgain = () => show('/auth/webauthn/reauthenticate')

async function show(path: string): Promise<void> {
  const { request_options } = await dataOf<RequestOptions>('GET', path)
  const publicKey = PublicKeyCredential.parseRequestOptionsFromJSON(request_options.publicKey)
  const credential = await asked(navigator.credentials.get({ publicKey }))
  const reply = await call('POST', path, { credential })
  if (reply.status !== 200) throw refusal(reply)
}

/** Raises Problem where the device did not, or the person said no: browsers do not tell which. */
async function asked(answer: Promise<Credential | null>): Promise<unknown> {
  try {
    const credential = (await answer) as PublicKeyCredential | null
    if (credential) return credential.toJSON()
  } catch (error) {
    if (!(error instanceof DOMException)) throw error
  }
  throw new Problem({ status: 0, code: 'not_shown', detail: t('sign_in.passkey_not_shown') })
}
