import { getContext, setContext } from 'svelte'
import { SvelteMap, SvelteSet } from 'svelte/reactivity'
import type { FieldProblem } from '../api/problem'
import type { Writer } from '../outbox/writer.svelte'

/** What the fields of a form know of it: why its write was refused, field by field. */
export interface FormContext {
  writer: Writer
  /** The names of the fields on the page: what is wrong with another is said on top. */
  shown: SvelteSet<string>
  /** Fields in which something is typed that is no figure, with what to type instead. */
  unread: SvelteMap<string, string>
}

const KEY = Symbol('form')

export function setForm(writer: Writer): FormContext {
  return setContext<FormContext>(KEY, { writer, shown: new SvelteSet(), unread: new SvelteMap() })
}

export function getForm(): FormContext | undefined {
  return getContext<FormContext | undefined>(KEY)
}

/** What is wrong with the field of this name. */
export function problemsOf(form: FormContext | undefined, name: string): FieldProblem[] {
  return form?.writer.problem?.fields.filter((f) => f.field === name) ?? []
}

/** Keep what cannot be read from being sent as if nothing had been typed; returns how to forget. */
export function holdBack(
  form: FormContext | undefined,
  field: { name: string; unread: boolean; mend: string },
): () => void {
  if (field.unread) form?.unread.set(field.name, field.mend)
  return () => form?.unread.delete(field.name)
}
