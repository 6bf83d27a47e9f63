from django.urls import include, path
from drf_spectacular.views import SpectacularJSONAPIView

from api.server.app_missing import app_not_built

urlpatterns = [
    path("", app_not_built),
    path("_allauth/", include("api.people.sign_in_urls")),
    path("api/v1/schema/", SpectacularJSONAPIView.as_view(), name="schema"),
    path("api/v1/", include("api.people.urls")),
    path("api/v1/", include("api.materials.urls")),
    path("api/v1/", include("api.places.urls")),
    path("api/v1/", include("api.pickups.urls")),
    path("api/v1/", include("api.lots.urls")),
    path("api/v1/", include("api.workshop.urls")),
    path("api/v1/", include("api.reports.urls")),
    path("api/v1/", include("api.notices.urls")),
    path("api/v1/", include("api.privacy.urls")),
]

handler400 = "api.problems.bad_request"
handler403 = "api.problems.not_allowed"
handler404 = "api.problems.not_found"
handler500 = "api.problems.server_error"
