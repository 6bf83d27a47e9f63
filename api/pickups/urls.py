from django.urls import URLPattern, path

from api.pickups import photos, views
from api.pickups import planning_views as planning
from api.pickups.travel import RoadMapView, TravelView

C = "communities/<slug:community>/"
PROPOSAL = f"{C}proposals/<uuid:proposal_id>/"
QUESTION = f"{C}questions/<uuid:question_id>/"
ROUTE = f"{C}routes/<uuid:route_id>/"
PICKUP = f"{C}pickups/<uuid:pickup_id>/"
LINE = f"{C}pickup-lines/<uuid:line_id>/"
ASK = f"{C}places/<uuid:place_id>/ask-pickup/"

urlpatterns: list[URLPattern] = [
    path(f"{C}vehicles/", planning.VehiclesView.as_view(), name="vehicles"),
    path(f"{C}vehicles/<uuid:vehicle_id>/", planning.VehicleView.as_view(), name="vehicle"),
    path(f"{C}road-map/", RoadMapView.as_view(), name="road-map"),
    path(f"{C}travel/", TravelView.as_view(), name="travel"),
    path(f"{C}proposals/", planning.ProposalsView.as_view(), name="proposals"),
    path(PROPOSAL, planning.ProposalView.as_view(), name="proposal"),
    path(f"{PROPOSAL}map/", planning.ProposalMapView.as_view(), name="proposal-map"),
    path(f"{PROPOSAL}change/", planning.ProposalChangeView.as_view(), name="proposal-change"),
    path(f"{PROPOSAL}move/", planning.ProposalMoveView.as_view(), name="proposal-move"),
    path(f"{PROPOSAL}choose/", planning.ProposalChooseView.as_view(), name="proposal-choose"),
    path(f"{PROPOSAL}stop/", planning.ProposalStopView.as_view(), name="proposal-stop"),
    path(f"{PROPOSAL}what-if/", planning.ProposalWhatIfView.as_view(), name="proposal-what-if"),
    path(
        f"{PROPOSAL}what-if/plan/",
        planning.ProposalWhatIfPlanView.as_view(),
        name="proposal-what-if-plan",
    ),
    path(QUESTION, planning.QuestionView.as_view(), name="proposal-question"),
    path(f"{QUESTION}stop/", planning.QuestionStopView.as_view(), name="proposal-question-stop"),
    path(f"{PROPOSAL}book/", planning.ProposalBookView.as_view(), name="proposal-book"),
    path(f"{C}routes/", views.RoutesView.as_view(), name="routes"),
    path(ROUTE, views.RouteView.as_view(), name="route"),
    path(f"{ROUTE}gpx/", views.RouteGpxView.as_view(), name="route-gpx"),
    path(f"{ROUTE}assign/", views.RouteAssignView.as_view(), name="route-assign"),
    path(f"{ROUTE}asks/", views.RouteAsksView.as_view(), name="route-asks"),
    path(f"{ROUTE}add-stop/", views.RouteAddStopView.as_view(), name="route-add-stop"),
    path(f"{ROUTE}start/", views.RouteStartView.as_view(), name="route-start"),
    path(f"{ROUTE}finish/", views.RouteFinishView.as_view(), name="route-finish"),
    path(f"{ROUTE}replan/", planning.RouteReplanView.as_view(), name="route-replan"),
    path(f"{ROUTE}call-off/", views.RouteCallOffView.as_view(), name="route-call-off"),
    path(f"{C}pickups/", views.PickupsView.as_view(), name="pickups"),
    path(f"{C}pickups/calendar/", views.PickupsCalendarView.as_view(), name="pickups-calendar"),
    path(PICKUP, views.PickupView.as_view(), name="pickup"),
    path(f"{PICKUP}arrive/", views.PickupArriveView.as_view(), name="pickup-arrive"),
    path(f"{PICKUP}skip/", views.PickupSkipView.as_view(), name="pickup-skip"),
    path(f"{PICKUP}finish/", views.PickupFinishView.as_view(), name="pickup-finish"),
    path(f"{LINE}collect/", views.PickupLineCollectView.as_view(), name="pickup-line-collect"),
    path(f"{LINE}turn-away/", views.PickupLineTurnAwayView.as_view(), name="pickup-line-turn-away"),
    path(f"{LINE}skip/", views.PickupLineSkipView.as_view(), name="pickup-line-skip"),
    path(f"{LINE}photos/", photos.PickupLinePhotosView.as_view(), name="pickup-line-photos"),
    path(f"{C}photos/<uuid:photo_id>/", photos.PhotoView.as_view(), name="photo"),
    path(ASK, views.PickupAskView.as_view(), name="pickup-ask"),
]
