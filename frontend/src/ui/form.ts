import { getContext, setContext } from 'svelte'
import { SvelteSet } from 'svelte/reactivity'
import type { FieldProblem } from '../api/problem'
import type { Writer } from '../outbox/writer.svelte'

/** What the fields of a form know of it: why its write was refused, field by field. */
export interface FormContext {
  writer: Writer
  /** The names of the fields on the page: what is wrong with another is said on top. */
  shown: SvelteSet<string>
}

const KEY = Symbol('form')

export function setForm(writer: Writer): FormContext {
  return setContext<FormContext>(KEY, { writer, shown: new SvelteSet() })
}

export function getForm(): FormContext | undefined {
  return getContext<FormContext | undefined>(KEY)
}

/** What is wrong with the field of this name. */
export function problemsOf(form: FormContext | undefined, name: string): FieldProblem[] {
  return form?.writer.problem?.fields.filter((f) => f.field === name) ?? []
}
