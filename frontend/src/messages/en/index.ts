import contact from './contact.json'
import driver from './driver.json'
import everyone from './everyone.json'
import maker from './maker.json'
import organiser from './organiser.json'
import registering from './registering.json'
import trade from './trade.json'
import visitor from './visitor.json'

export default {
  ...everyone,
  ...trade,
  ...registering,
  ...contact,
  ...driver,
  ...maker,
  ...organiser,
  ...visitor,
}
