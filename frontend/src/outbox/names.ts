/** Under which names what was read is kept on the device. */
export const seenAs = {
  routes: (community: string) => `${community} routes to drive`,
  route: (community: string, id: string) => `${community} route ${id}`,
  known: (community: string, id: string) => `${community} known of route ${id}`,
  asks: (community: string, id: string) => `${community} asks for route ${id}`,
  scales: (community: string) => `${community} scales`,
  places: (community: string) => `${community} places`,
  place: (community: string, id: string) => `${community} place ${id}`,
  became: (community: string, id: string) => `${community} became ${id}`,
  feedback: (community: string, id: string) => `${community} feedback ${id}`,
}
