import { post, put } from '../outbox/action'
import { addressOf, get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'
import type { components } from './schema'

type S = components['schemas']
export type Identification = S['Identification']
export type Evidence = S['EvidenceRequest']
export type Caution = S['Caution']
export type SamplingPlan = S['SamplingPlan']
export type Stock = S['Stock']
export type StockState = S['WorkshopStateEnum']
export type ProcessKind = S['ProcessKindEnum']
export type ProcessRun = S['ProcessRun']
export type Yield = S['Yield']
export type NamedColour = S['Colour']
export type ColourMatch = S['ColourMatch']
export type LotMaterial = S['LotMaterial']
export type Recipe = S['Recipe']
export type RecipeStep = S['RecipeStepRequest']
export type MixAnswer = S['MixAnswer']
export type MixPlan = S['MixPlan']
export type Batch = S['Batch']
export type Press = S['Press']
export type PieceWish = S['PieceWishRequest']
export type PressPlan = S['PressPlan']
export type Pressing = S['Pressing']
export type PressingOutcome = S['PressingOutcomeEnum']
export type Product = S['Product']
export type Story = S['Story']
export type Passport = S['Passport']
export type Became = S['Became']
export type PriceQuestion = S['PriceQuestionRequest']
export type Price = S['Price']
export type Stage = S['NameEnum']
export type MeasuredTime = S['MeasuredTime']

const C = '/api/v1/communities/{community}'
const PRODUCT = `${C}/products/{product_id}` as const

export const stepCautions = () => get('/api/v1/workshop-cautions/', {})

export const identify = (key: string, community: string, body: Evidence) =>
  post(key, `${C}/identify/`, { community }, body)
export const harmlessTests = (community: string) => get(`${C}/identify/`, { community })
export const samplingPlan = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/sampling-plan/`, 'post'>,
) => post(key, `${C}/sampling-plan/`, { community }, body)

export const stock = (community: string, query?: QueryOf<`${typeof C}/stock/`, 'get'>) =>
  all(`${C}/stock/`, { community }, query)
export const yields = (community: string, query?: QueryOf<`${typeof C}/yields/`, 'get'>) =>
  get(`${C}/yields/`, { community }, query)
export const processRuns = (
  community: string,
  query?: QueryOf<`${typeof C}/process-runs/`, 'get'>,
) => get(`${C}/process-runs/`, { community }, query)
export const recordProcess = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/process-runs/`, 'post'>,
) => post(key, `${C}/process-runs/`, { community }, body)

export const lotMaterial = (community: string, lot_id: string) =>
  get(`${C}/lots/{lot_id}/material/`, { community, lot_id })
export const describeLot = (
  key: string,
  community: string,
  lot_id: string,
  body: BodyOf<`${typeof C}/lots/{lot_id}/material/`, 'put'>,
) => put(key, `${C}/lots/{lot_id}/material/`, { community, lot_id }, body)

export const colours = (community: string) => all(`${C}/colours/`, { community })
export const addColour = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/colours/`, 'post'>,
) => post(key, `${C}/colours/`, { community }, body)
export const colourMatch = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/colour-match/`, 'post'>,
) => post(key, `${C}/colour-match/`, { community }, body)
export const measureColour = (
  key: string,
  community: string,
  colour_id: string,
  body: BodyOf<`${typeof C}/colours/{colour_id}/`, 'put'>,
) => put(key, `${C}/colours/{colour_id}/`, { community, colour_id }, body)

export const recipes = (community: string) => all(`${C}/recipes/`, { community })
export const saveRecipe = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/recipes/`, 'post'>,
) => post(key, `${C}/recipes/`, { community }, body)
export const mix = (
  key: string,
  community: string,
  recipe_id: string,
  body: BodyOf<`${typeof C}/recipes/{recipe_id}/mix/`, 'post'>,
) => post(key, `${C}/recipes/{recipe_id}/mix/`, { community, recipe_id }, body)

export const batches = (community: string) => all(`${C}/batches/`, { community })
export const batch = (community: string, batch_id: string) =>
  get(`${C}/batches/{batch_id}/`, { community, batch_id })
export const chargeBatch = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/batches/`, 'post'>,
) => post(key, `${C}/batches/`, { community }, body)

export const presses = (community: string) => all(`${C}/presses/`, { community })
export const addPress = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/presses/`, 'post'>,
) => post(key, `${C}/presses/`, { community }, body)
export const setHeatLimit = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/heat-limit/`, 'put'>,
) => put(key, `${C}/heat-limit/`, { community }, body)
export const certainty = (community: string, stream_id: string) =>
  get(`${C}/streams/{stream_id}/certainty/`, { community, stream_id })
export const setCertainty = (
  key: string,
  community: string,
  stream_id: string,
  body: BodyOf<`${typeof C}/streams/{stream_id}/certainty/`, 'put'>,
) => put(key, `${C}/streams/{stream_id}/certainty/`, { community, stream_id }, body)
export const heatLimit = (community: string) => get(`${C}/heat-limit/`, { community })
export const heatPlan = (key: string, community: string, body: PieceWish) =>
  post(key, `${C}/heat-plan/`, { community }, body)
export const pressings = (community: string, batch: string) =>
  all(`${C}/pressings/`, { community }, { batch })
export const beginPressing = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/pressings/`, 'post'>,
) => post(key, `${C}/pressings/`, { community }, body)
export const finishPressing = (
  key: string,
  community: string,
  pressing_id: string,
  body: BodyOf<`${typeof C}/pressings/{pressing_id}/finish/`, 'post'>,
) => post(key, `${C}/pressings/{pressing_id}/finish/`, { community, pressing_id }, body)

export const products = (community: string, query?: QueryOf<`${typeof C}/products/`, 'get'>) =>
  all(`${C}/products/`, { community }, query)
export const recordProduct = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/products/`, 'post'>,
) => post(key, `${C}/products/`, { community }, body)
export const story = (community: string, product_id: string) =>
  get(`${PRODUCT}/story/`, { community, product_id })
export const measuredTimes = (community: string, product_id: string) =>
  get(`${PRODUCT}/times/`, { community, product_id })
export const publishPassport = (key: string, community: string, product_id: string) =>
  post(key, `${PRODUCT}/passport/`, { community, product_id }, {})

export const price = (key: string, community: string, body: PriceQuestion) =>
  post(key, `${C}/price/`, { community }, body)
export const priceSheets = (community: string) => all(`${C}/price-sheets/`, { community })
export const savePriceSheet = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/price-sheets/`, 'post'>,
) => post(key, `${C}/price-sheets/`, { community }, body)

export const passport = (slug: string) => get('/api/v1/passports/{slug}/', { slug })
export const passportCodeAddress = (slug: string) =>
  addressOf('/api/v1/passports/{slug}/code/', { slug })
export const becameOf = (community: string, place_id: string) =>
  get(`${C}/places/{place_id}/became/`, { community, place_id })
