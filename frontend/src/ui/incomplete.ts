import { Problem, type FieldProblem } from '../api/problem'
import { t } from '../messages'

/** What is still missing or cannot be read, said in the way a refusal of the server is. */
export function incomplete(
  missing: { field: string; mend: string }[],
  detail = t('form.incomplete'),
): Problem {
  const fields: FieldProblem[] = missing.map((m) => ({ field: m.field, detail: '', mend: m.mend }))
  return new Problem({ status: 0, code: 'incomplete', detail, fields })
}
