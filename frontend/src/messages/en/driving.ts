/** The words of drivers. */
import driver from './driver.json'
import map from './map.json'
import weighing from './weighing.json'

export default { ...driver, ...map, ...weighing }
