"""What is done to tell people: notices are made of events, mailed, read, and chosen."""

from network.notices.services.choosing import choose
from network.notices.services.delivering import deliver
from network.notices.services.devices import add_push_device, remove_push_device
from network.notices.services.feeds import make_feed, note_reading, revoke_feed
from network.notices.services.mailing import mail_notice
from network.notices.services.pushing import push_key, push_notice
from network.notices.services.reading import mark_all_read, mark_read
from network.notices.services.telling import tell
from network.notices.services.webhooks import make_webhook, stop_webhook, try_webhook
from network.notices.services.weeks import announce_weeks

__all__ = [
    "add_push_device",
    "announce_weeks",
    "choose",
    "deliver",
    "mail_notice",
    "make_feed",
    "make_webhook",
    "mark_all_read",
    "mark_read",
    "note_reading",
    "push_key",
    "push_notice",
    "remove_push_device",
    "revoke_feed",
    "stop_webhook",
    "tell",
    "try_webhook",
]
