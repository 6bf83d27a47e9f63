/** The words of makers and organisers, and of registering a place. */
import maker from './maker.json'
import map from './map.json'
import organiser from './organiser.json'
import registering from './registering.json'
import weighing from './weighing.json'

export default { ...maker, ...map, ...organiser, ...registering, ...weighing }
