import {
  addressOf,
  getAddress,
  type PathValues,
  type PathWith,
  type QueryOf,
  type ReplyOf,
} from './client'

type ItemOf<Page> = Page extends { results: (infer Item)[] } ? Item : never

/** The paths of lists that come in pages. */
export type PagedPath = {
  [P in PathWith<'get'>]: ReplyOf<P, 'get'> extends { results: unknown[] } ? P : never
}[PathWith<'get'>]

interface Page {
  next?: string | null
  results: unknown[]
}

/** Read all pages of a list that is known to be short enough to show whole. */
export async function all<P extends PagedPath>(
  path: P,
  values: PathValues<P, 'get'>,
  query?: QueryOf<P, 'get'>,
): Promise<ItemOf<ReplyOf<P, 'get'>>[]> {
  const found: unknown[] = []
  let address: string | null = addressOf(path, values as object, {
    page_size: 200,
    ...(query as object | undefined),
  })
  while (address) {
    const page = (await getAddress(address)) as Page
    found.push(...page.results)
    // The server names the next page by its own host, which a proxy may have changed.
    const next: URL | null = page.next ? new URL(page.next, location.href) : null
    address = next && next.pathname + next.search
  }
  return found as ItemOf<ReplyOf<P, 'get'>>[]
}
