/** The words of contacts and visitors, and of what all share. */
import contact from './contact.json'
import everyone from './everyone.json'
import outbox from './outbox.json'
import trade from './trade.json'
import visitor from './visitor.json'

export default { ...everyone, ...trade, ...contact, ...outbox, ...visitor }
