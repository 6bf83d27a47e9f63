/** Every screen and its address. A screen is loaded when it is gone to. */
import type { Component } from 'svelte'
import { wrap, type WrappedComponent } from 'svelte-spa-router/wrap'
import { loadPart } from './messages'
import LoadFailed from './screens/everyone/LoadFailed.svelte'

// The router hands each screen its own `params`; which, the pattern here says.
// eslint-disable-next-line @typescript-eslint/no-explicit-any
type Screen = { default: Component<any> }

function screen(load: () => Promise<Screen>): WrappedComponent {
  return wrap({ asyncComponent: () => load().catch(() => ({ default: LoadFailed })) })
}

/** A screen of makers and organisers, or of registering: it says more than the first ones. */
function working(load: () => Promise<Screen>): WrappedComponent {
  return screen(async () => (await Promise.all([load(), loadPart('working')]))[0])
}

/** A screen of drivers. */
function driving(load: () => Promise<Screen>): WrappedComponent {
  return screen(async () => (await Promise.all([load(), loadPart('driving')]))[0])
}

/** A screen that also says what only the workshop says. */
function workshop(load: () => Promise<Screen>): WrappedComponent {
  return working(async () => (await Promise.all([load(), loadPart('workshop')]))[0])
}

/** A screen that also says what only plans say. */
function planning(load: () => Promise<Screen>): WrappedComponent {
  return working(async () => (await Promise.all([load(), loadPart('planning')]))[0])
}

/** A screen that also says what only reports say. */
function reporting(load: () => Promise<Screen>): WrappedComponent {
  return working(async () => (await Promise.all([load(), loadPart('reporting')]))[0])
}

/** A screen of who belongs to a community, and what they agreed. */
function agreeing(load: () => Promise<Screen>): WrappedComponent {
  return working(async () => (await Promise.all([load(), loadPart('agreeing')]))[0])
}

/** A screen of one's own account. */
function account(load: () => Promise<Screen>): WrappedComponent {
  return screen(async () => (await Promise.all([load(), loadPart('account')]))[0])
}

export const routes = {
  '/': screen(() => import('./screens/everyone/Start.svelte')),
  '/sign-in': screen(() => import('./screens/everyone/SignIn.svelte')),
  '/sign-in/:token': screen(() => import('./screens/everyone/SignInLink.svelte')),
  '/choose': screen(() => import('./screens/everyone/ChooseRole.svelte')),
  '/account': account(() => import('./screens/account/Account.svelte')),
  '/account/notices': account(() => import('./screens/account/NoticeChoices.svelte')),
  '/account/calendars': account(() => import('./screens/account/Calendars.svelte')),
  '/account/passkeys': account(() => import('./screens/account/Passkeys.svelte')),
  '/account/devices': account(() => import('./screens/account/Devices.svelte')),
  '/account/machines': account(() => import('./screens/account/Machines.svelte')),
  '/account/webhooks': account(() => import('./screens/account/Webhooks.svelte')),
  '/account/webhooks/:id': account(() => import('./screens/account/Deliveries.svelte')),
  '/counter/:community/:token': screen(() => import('./screens/counter/CounterScreen.svelte')),
  '/account/data': account(() => import('./screens/account/MyData.svelte')),
  '/notices': account(() => import('./screens/account/Notices.svelte')),
  '/outbox': screen(() => import('./screens/everyone/Outbox.svelte')),
  '/cautions': screen(() => import('./screens/everyone/Cautions.svelte')),
  '/register': working(() => import('./screens/contact/ChooseCommunity.svelte')),
  '/register/:community': working(() => import('./screens/contact/Register.svelte')),
  '/join/:token': working(() => import('./screens/everyone/Join.svelte')),
  '/t/:tag': screen(() => import('./screens/everyone/Tag.svelte')),
  '/scan': screen(() => import('./screens/everyone/FindTag.svelte')),
  '/places': screen(() => import('./screens/contact/Places.svelte')),
  '/places/:id': screen(() => import('./screens/contact/PlaceHome.svelte')),
  '/places/:id/edit': working(() => import('./screens/contact/PlaceEdit.svelte')),
  '/places/:id/counters': account(() => import('./screens/account/Counters.svelte')),
  '/places/:id/streams/new': working(() => import('./screens/contact/SetAside.svelte')),
  '/places/:id/visits': screen(() => import('./screens/contact/PlaceVisits.svelte')),
  '/places/:id/rules/:agreement': agreeing(() => import('./screens/contact/PlaceRules.svelte')),
  '/organising': working(() => import('./screens/organiser/Glance.svelte')),
  '/organising/places': working(() => import('./screens/organiser/AllPlaces.svelte')),
  '/organising/places/:id': agreeing(() => import('./screens/everyone/PlaceDetail.svelte')),
  '/organising/members': agreeing(() => import('./screens/organiser/Members.svelte')),
  '/organising/districts': agreeing(() => import('./screens/organiser/Districts.svelte')),
  '/organising/invite': working(() => import('./screens/organiser/Invite.svelte')),
  '/organising/import': working(() => import('./screens/organiser/Import.svelte')),
  '/organising/report': reporting(() => import('./screens/organiser/Report.svelte')),
  '/organising/flow': reporting(() => import('./screens/organiser/Flow.svelte')),
  '/organising/history': reporting(() => import('./screens/organiser/History.svelte')),
  '/organising/quality': reporting(() => import('./screens/organiser/Quality.svelte')),
  '/organising/scenario': reporting(() => import('./screens/organiser/Scenario.svelte')),
  '/organising/joined': reporting(() => import('./screens/organiser/Joined.svelte')),
  '/organising/closing': reporting(() => import('./screens/organiser/Closing.svelte')),
  '/organising/heat-limit': workshop(() => import('./screens/organiser/HeatLimit.svelte')),
  '/organising/photos': account(() => import('./screens/account/PhotosKept.svelte')),
  '/organising/trail': account(() => import('./screens/account/Trail.svelte')),
  '/organising/more': working(() => import('./screens/organiser/More.svelte')),
  '/bring': screen(() => import('./screens/public/Bring.svelte')),
  '/bring/:community': working(() => import('./screens/public/BringHere.svelte')),
  '/passport/:slug': workshop(() => import('./screens/public/Passport.svelte')),
  '/making': working(() => import('./screens/maker/Waiting.svelte')),
  '/making/places/:id': agreeing(() => import('./screens/everyone/PlaceDetail.svelte')),
  '/making/plan': planning(() => import('./screens/maker/Plan.svelte')),
  '/making/proposals/:id': planning(() => import('./screens/maker/Proposal.svelte')),
  '/making/routes': working(() => import('./screens/maker/Routes.svelte')),
  '/making/routes/:id': planning(() => import('./screens/maker/RouteDetail.svelte')),
  '/making/lots': working(() => import('./screens/maker/Lots.svelte')),
  '/making/lots/:id': workshop(() => import('./screens/maker/LotDetail.svelte')),
  '/making/streams': working(() => import('./screens/maker/Streams.svelte')),
  '/making/streams/:id': workshop(() => import('./screens/maker/StreamDetail.svelte')),
  '/making/vehicles': planning(() => import('./screens/maker/Vehicles.svelte')),
  '/making/scales': working(() => import('./screens/maker/Scales.svelte')),
  '/making/workshop': workshop(() => import('./screens/maker/workshop/Workshop.svelte')),
  '/making/identify': workshop(() => import('./screens/maker/workshop/Identify.svelte')),
  '/making/process/:kind': workshop(() => import('./screens/maker/workshop/Process.svelte')),
  '/making/process-runs': workshop(() => import('./screens/maker/workshop/ProcessRuns.svelte')),
  '/making/recipes': workshop(() => import('./screens/maker/workshop/Recipes.svelte')),
  '/making/recipes/:id': workshop(() => import('./screens/maker/workshop/RecipeDetail.svelte')),
  '/making/batches': workshop(() => import('./screens/maker/workshop/Batches.svelte')),
  '/making/batches/new': workshop(() => import('./screens/maker/workshop/NewBatch.svelte')),
  '/making/batches/:id': workshop(() => import('./screens/maker/workshop/BatchDetail.svelte')),
  '/making/batches/:id/press': workshop(() => import('./screens/maker/workshop/HeatPlan.svelte')),
  '/making/pressings/:batch/:id': workshop(
    () => import('./screens/maker/workshop/PressTimer.svelte'),
  ),
  '/making/products': workshop(() => import('./screens/maker/workshop/Products.svelte')),
  '/making/products/:id': workshop(() => import('./screens/maker/workshop/ProductDetail.svelte')),
  '/making/price': workshop(() => import('./screens/maker/workshop/PriceSheet.svelte')),
  '/making/price/:id': workshop(() => import('./screens/maker/workshop/KeptPrice.svelte')),
  '/making/presses': workshop(() => import('./screens/maker/workshop/Presses.svelte')),
  '/making/colours': workshop(() => import('./screens/maker/workshop/Colours.svelte')),
  '/making/colours/measure': workshop(
    () => import('./screens/maker/workshop/MeasureColour.svelte'),
  ),
  '/making/more': working(() => import('./screens/maker/More.svelte')),
  '/movements': working(() => import('./screens/maker/Movements.svelte')),
  '/driving': driving(() => import('./screens/driver/Today.svelte')),
  '/driving/:route': driving(() => import('./screens/driver/DriveRoute.svelte')),
  '/driving/:route/:pickup': driving(() => import('./screens/driver/StopScreen.svelte')),
  '*': screen(() => import('./screens/everyone/NotFound.svelte')),
}

/** Fetch the screen of an address, and its words, before the router asks for them. */
export function fetchScreen(path: string): void {
  const isOf = (pattern: string) => new RegExp(`^${pattern.replace(/:\w+/g, '[^/]+')}$`).test(path)
  const found = Object.entries(routes).find(([pattern]) => pattern !== '*' && isOf(pattern))
  const load = found?.[1].component as (() => Promise<Screen>) | undefined
  void load?.()
}
