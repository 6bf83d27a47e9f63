/** Why something did not happen, as the server or the connection says it (RFC 9457). */

export interface FieldProblem {
  field: string
  detail: string
  mend: string
}

export class Problem extends Error {
  readonly status: number
  readonly code: string
  readonly fields: readonly FieldProblem[]

  constructor(at: { status: number; code: string; detail: string; fields?: FieldProblem[] }) {
    super(at.detail)
    this.status = at.status
    this.code = at.code
    this.fields = at.fields ?? []
  }

  /** Nothing came back: it may or may not have arrived. */
  get isConnection(): boolean {
    return this.code === NO_CONNECTION
  }
}

export const NO_CONNECTION = 'no_connection'

export function noConnection(): Problem {
  return new Problem({ status: 0, code: NO_CONNECTION, detail: '' })
}

/** Read a refusal; one that is no problem detail (a proxy's page) is told by its status alone. */
export async function problemOf(response: Response): Promise<Problem> {
  const { status } = response
  const body = (await response.json().catch(() => null)) as Record<string, unknown> | null
  if (body && typeof body['detail'] === 'string') {
    const fields = (body['errors'] as FieldProblem[] | undefined) ?? []
    return new Problem({ status, code: String(body['code']), detail: body['detail'], fields })
  }
  return new Problem({ status, code: `http_${status}`, detail: '' })
}
