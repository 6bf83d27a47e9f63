"""What people do here: found a community, name its parts, join it, and hold roles in it.

`at` is when it happened, by default now; a client that made the id of a new thing passes it.
"""

from network.people.services.communities import (
    PHOTOS_DAYS_MAX,
    add_district,
    change_community,
    create_community,
)
from network.people.services.joining import (
    VALID_DAYS_MAX,
    accept_invitation,
    add_person,
    choose_language,
    invite,
    name_person,
    sign_in_link_token,
    use_sign_in_link,
)
from network.people.services.leaving import (
    end_membership,
    leave_community,
    pass_on_organiser,
    refuse_last_organiser,
)
from network.people.services.machines import (
    TOKEN_DAYS_MAX,
    make_machine_token,
    note_token_use,
    revoke_machine_token,
)
from network.people.services.organisations import add_organisation, found_organisation
from network.people.services.roles import grant_role

__all__ = [
    "PHOTOS_DAYS_MAX",
    "TOKEN_DAYS_MAX",
    "VALID_DAYS_MAX",
    "accept_invitation",
    "add_district",
    "add_organisation",
    "add_person",
    "change_community",
    "choose_language",
    "create_community",
    "end_membership",
    "found_organisation",
    "grant_role",
    "invite",
    "leave_community",
    "make_machine_token",
    "name_person",
    "note_token_use",
    "pass_on_organiser",
    "refuse_last_organiser",
    "revoke_machine_token",
    "sign_in_link_token",
    "use_sign_in_link",
]
