/** The words of drivers. */
import driver from './driver.json'
import weighing from './weighing.json'

export default { ...driver, ...weighing }
