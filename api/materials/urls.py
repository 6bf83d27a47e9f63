from django.urls import path

from api.materials import views

STREAMS = "communities/<slug:community>/streams/"
STREAM = f"{STREAMS}<uuid:stream_id>/"

urlpatterns = [
    path("resins/", views.ResinsView.as_view(), name="resins"),
    path("items/", views.ItemsView.as_view(), name="items"),
    path(STREAMS, views.StreamsView.as_view(), name="streams"),
    path(STREAM, views.StreamView.as_view(), name="stream"),
    path(f"{STREAM}rule-versions/", views.RuleVersionsView.as_view(), name="rule-versions"),
    path(f"{STREAM}evaluate/", views.EvaluateView.as_view(), name="evaluate"),
]
