"""Who may call what: one row for each route, by method; a route without a row is closed.

The rows a role may then see or change are the business of the queries and services it reaches.
"""

from network.people.core.actor import CONTACT, DRIVER, MAKER, ORGANISER

PUBLIC = "public"
SIGNED_IN = "signed_in"  # anyone with an account, also without a role in this community

_ANYONE = {PUBLIC}
_MEMBERS = {CONTACT, DRIVER, MAKER, ORGANISER}
_TRADE = {DRIVER, MAKER, ORGANISER}

RIGHTS: dict[str, dict[str, set[str]]] = {
    # people
    "session": {"GET": _ANYONE, "DELETE": {SIGNED_IN}},
    "session-link": {"POST": _ANYONE},
    "invitation": {"GET": _ANYONE},
    "invitation-accept": {"POST": _ANYONE},
    "communities": {"GET": _ANYONE},
    "community": {"GET": _ANYONE},
    "road-map": {"GET": _ANYONE},
    "districts": {"GET": _ANYONE, "POST": {ORGANISER}},
    "invitations": {"GET": {ORGANISER}, "POST": {ORGANISER}},
    "organisations": {"GET": _MEMBERS, "POST": {ORGANISER}},
    "members": {"GET": {MAKER, ORGANISER}},
    # materials
    "resins": {"GET": _ANYONE},
    "items": {"GET": _ANYONE},
    "streams": {"GET": _ANYONE, "POST": {MAKER}},
    "stream": {"GET": _ANYONE, "PATCH": {MAKER}},
    "rule-versions": {"GET": _ANYONE, "POST": {MAKER}},
    "evaluate": {"POST": _ANYONE},
    # places
    "offers": {"GET": _ANYONE},
    "places": {"GET": _MEMBERS, "POST": {SIGNED_IN}},
    "places-map": {"GET": _MEMBERS},
    "place": {"GET": _MEMBERS, "PATCH": {CONTACT, ORGANISER}},
    "place-admit": {"POST": {ORGANISER}},
    "place-refuse": {"POST": {ORGANISER}},
    "place-card": {"GET": _MEMBERS},
    "place-labels": {"GET": _MEMBERS},
    "agreements": {"GET": _MEMBERS, "POST": {CONTACT, ORGANISER}},
    "agreement-end": {"POST": {CONTACT, MAKER, ORGANISER}},
    "agreement-move": {"POST": {CONTACT}},
    "containers": {"GET": _MEMBERS, "POST": {MAKER, ORGANISER}},
    "container-retire": {"POST": {MAKER, ORGANISER}},
    "fill-reports": {"GET": _MEMBERS, "POST": {CONTACT, DRIVER, MAKER}},
    "place-imports": {"GET": {ORGANISER}, "POST": {ORGANISER}},
    "place-import": {"GET": {ORGANISER}},
    "place-import-save": {"POST": {ORGANISER}},
    # pickups
    "vehicles": {"GET": _TRADE, "POST": {MAKER}},
    "vehicle": {"PATCH": {MAKER}},
    "proposals": {"GET": {MAKER}, "POST": {MAKER}},
    "proposal": {"GET": {MAKER}},
    "proposal-change": {"POST": {MAKER}},
    "proposal-book": {"POST": {MAKER}},
    "routes": {"GET": _TRADE},
    "route": {"GET": _TRADE},
    "route-gpx": {"GET": _TRADE},
    "route-assign": {"POST": {MAKER}},
    "route-start": {"POST": {DRIVER, MAKER}},
    "route-finish": {"POST": {DRIVER, MAKER}},
    "route-call-off": {"POST": {MAKER}},
    "pickups": {"GET": _MEMBERS},
    "pickups-calendar": {"GET": _MEMBERS},
    "pickup": {"GET": _MEMBERS},
    "pickup-ask": {"POST": {CONTACT}},
    "pickup-arrive": {"POST": {DRIVER, MAKER}},
    "pickup-skip": {"POST": {DRIVER, MAKER}},
    "pickup-finish": {"POST": {DRIVER, MAKER}},
    "pickup-line-collect": {"POST": {DRIVER, MAKER}},
    "pickup-line-turn-away": {"POST": {DRIVER, MAKER}},
    "pickup-line-skip": {"POST": {DRIVER, MAKER}},
    # lots
    "scales": {"GET": _TRADE, "POST": {MAKER}},
    "lots": {"GET": _TRADE},
    "lot": {"GET": _TRADE},
    "lot-weigh": {"POST": {MAKER}},
    "lot-inspect": {"POST": {MAKER}},
    "lot-split": {"POST": {MAKER}},
    "lot-merge": {"POST": {MAKER}},
    "lot-lose": {"POST": {MAKER}},
    "lot-pass-on": {"POST": {MAKER}},
    "movements": {"GET": _TRADE},
    "movement-reverse": {"POST": {MAKER}},
    "balances": {"GET": _TRADE},
    "place-feedback": {"GET": _MEMBERS},
    # workshop
    "workshop-cautions": {"GET": _ANYONE},
    "identify": {"GET": _ANYONE, "POST": _ANYONE},
    "sampling-plan": {"POST": _TRADE},
    "colour-match": {"POST": {MAKER}},
    "heat-plan": {"POST": {MAKER}},
    "price": {"POST": {MAKER}},
    "yields": {"GET": {MAKER, ORGANISER}},
    "recipe-mix": {"POST": {MAKER}},
    "heat-limit": {"GET": _TRADE, "PUT": {ORGANISER}},
    "certainty": {"GET": _ANYONE, "PUT": {MAKER}},
    "colours": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "stock": {"GET": {MAKER, ORGANISER}},
    "lot-material": {"GET": {MAKER, ORGANISER}, "PUT": {MAKER}},
    "process-runs": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "recipes": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "batches": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "batch": {"GET": {MAKER, ORGANISER}},
    "presses": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "pressings": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "pressing-finish": {"POST": {MAKER}},
    "products": {"GET": {MAKER, ORGANISER}, "POST": {MAKER}},
    "product-story": {"GET": {MAKER, ORGANISER}},
    "product-passport": {"POST": {MAKER}},
    "price-sheets": {"GET": {MAKER}, "POST": {MAKER}},
    "place-became": {"GET": {CONTACT, MAKER, ORGANISER}},
    "passport": {"GET": _ANYONE},
    "passport-code": {"GET": _ANYONE},
    # reports
    "report-diverted": {"GET": {MAKER, ORGANISER}},
    "report-diverted-csv": {"GET": {MAKER, ORGANISER}},
    "report-diverted-xlsx": {"GET": {MAKER, ORGANISER}},
    # privacy: one's own data, and going
    "account-data": {"GET": {SIGNED_IN}},
    "account-erase": {"POST": {SIGNED_IN}},
    "community-leave": {"POST": {SIGNED_IN}},
    "organiser-pass-on": {"POST": {ORGANISER}},
    "membership-end": {"POST": {ORGANISER}},
    # notices: everybody's own
    "notices": {"GET": {SIGNED_IN}},
    "notice-read": {"POST": {SIGNED_IN}},
    "notices-read": {"POST": {SIGNED_IN}},
    "notice-choices": {"GET": {SIGNED_IN}, "PUT": {SIGNED_IN}},
    "calendar-feeds": {"GET": {SIGNED_IN}, "POST": _MEMBERS},
    "calendar-feed-revoke": {"POST": {SIGNED_IN}},
    "calendar-feed-file": {"GET": _ANYONE},  # whoever holds the secret in its address
    # the description of all this
    "schema": {"GET": _ANYONE},
}
