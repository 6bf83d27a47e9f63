/** Problems in words: the server's own sentence, or ours where it could not say one. */
import { NO_CONNECTION, type Problem } from '../api/problem'
import { t } from '../messages'

/** Why something could not be read: there is nothing typed that could be lost. */
export function unreadText(problem: Problem): string {
  return problem.isConnection ? t('problem.not_read') : problemText(problem)
}

export function problemText(problem: Problem): string {
  if (problem.code === NO_CONNECTION) return t('problem.no_connection')
  if (problem.message) return problem.message
  return problem.status >= 500
    ? t('problem.server', { status: problem.status })
    : t('problem.other', { status: problem.status })
}
