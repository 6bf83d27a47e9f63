"""What people do with pickups: each function is one thing that someone does."""

from network.pickups.services.adding import add_stop
from network.pickups.services.asks import ask_for_pickup
from network.pickups.services.booking import PlanBreaksRules, book_proposal
from network.pickups.services.driving import (
    arrive,
    collect_line,
    finish_pickup,
    skip_line,
    skip_pickup,
    turn_away_line,
)
from network.pickups.services.photographing import (
    add_photo,
    delete_outdated_photos,
    delete_unclaimed_files,
    remove_photo,
)
from network.pickups.services.proposals import (
    change_proposal,
    choose_alternative,
    move_stop,
    request_proposal,
    stop_search,
)
from network.pickups.services.replanning import replan_day
from network.pickups.services.routes import (
    assign_driver,
    call_off_route,
    finish_route,
    start_route,
)
from network.pickups.services.searching import find_alternatives, solve_proposal
from network.pickups.services.supposing import (
    answer_question,
    ask_what_if,
    plan_what_if,
    stop_question,
)
from network.pickups.services.travelling import (
    RoadsBrought,
    TravelFigures,
    bring_roads,
    change_travel,
)
from network.pickups.services.vehicles import (
    PAYLOAD_G_MAX,
    VOLUME_ML_MAX,
    VehicleFigures,
    add_vehicle,
    change_vehicle,
)
from network.pickups.services.wishes import SHIFTS_MAX

__all__ = [
    "PAYLOAD_G_MAX",
    "SHIFTS_MAX",
    "VOLUME_ML_MAX",
    "PlanBreaksRules",
    "RoadsBrought",
    "TravelFigures",
    "VehicleFigures",
    "add_photo",
    "add_stop",
    "add_vehicle",
    "answer_question",
    "arrive",
    "ask_for_pickup",
    "ask_what_if",
    "assign_driver",
    "book_proposal",
    "bring_roads",
    "call_off_route",
    "change_proposal",
    "change_travel",
    "change_vehicle",
    "choose_alternative",
    "collect_line",
    "delete_outdated_photos",
    "delete_unclaimed_files",
    "find_alternatives",
    "finish_pickup",
    "finish_route",
    "move_stop",
    "plan_what_if",
    "remove_photo",
    "replan_day",
    "request_proposal",
    "skip_line",
    "skip_pickup",
    "solve_proposal",
    "start_route",
    "stop_question",
    "stop_search",
    "turn_away_line",
]
