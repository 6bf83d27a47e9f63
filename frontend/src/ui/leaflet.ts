/** The map library with its styles, in a chunk that is only loaded when a map is looked at. */
import 'leaflet/dist/leaflet.css'
export * from 'leaflet'
