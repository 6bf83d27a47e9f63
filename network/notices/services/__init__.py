"""What is done to tell people: notices are made of events, mailed, read, and chosen."""

from network.notices.services.choosing import choose
from network.notices.services.mailing import mail_notice
from network.notices.services.reading import mark_all_read, mark_read
from network.notices.services.telling import tell
from network.notices.services.weeks import announce_weeks

__all__ = [
    "announce_weeks",
    "choose",
    "mail_notice",
    "mark_all_read",
    "mark_read",
    "tell",
]
