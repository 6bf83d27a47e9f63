from django.urls import URLPattern, path

from api.places import agreed, counter_views, imports, public_map, views

C = "communities/<slug:community>"
PLACE = f"{C}/places/<uuid:place_id>"
CONTAINER = f"{C}/containers/<uuid:container_id>"
AGREEMENT = f"{C}/agreements/<uuid:agreement_id>"
IMPORT = f"{C}/place-imports/<uuid:import_id>"

urlpatterns: list[URLPattern] = [
    path(f"{C}/offers/", views.OffersView.as_view(), name="offers"),
    path(f"{C}/counters/", counter_views.CountersView.as_view(), name="counters"),
    path(
        f"{C}/counters/<uuid:counter_id>/revoke/",
        counter_views.CounterRevokeView.as_view(),
        name="counter-revoke",
    ),
    path(f"{C}/counter/", counter_views.CounterView.as_view(), name="counter"),
    path(
        f"{C}/counter/fill-reports/", counter_views.CounterFillView.as_view(), name="counter-fill"
    ),
    path(f"{C}/public-map/", public_map.PublicMapView.as_view(), name="public-map"),
    path(f"{C}/places/", views.PlacesView.as_view(), name="places"),
    path(f"{C}/places/map/", views.PlacesMapView.as_view(), name="places-map"),
    path(f"{PLACE}/", views.PlaceView.as_view(), name="place"),
    path(f"{PLACE}/admit/", views.PlaceAdmitView.as_view(), name="place-admit"),
    path(f"{PLACE}/refuse/", views.PlaceRefuseView.as_view(), name="place-refuse"),
    path(f"{PLACE}/card/", views.PlaceCardView.as_view(), name="place-card"),
    path(f"{PLACE}/labels/", views.PlaceLabelsView.as_view(), name="place-labels"),
    path(f"{C}/agreements/", agreed.AgreementsView.as_view(), name="agreements"),
    path(f"{AGREEMENT}/end/", agreed.AgreementEndView.as_view(), name="agreement-end"),
    path(f"{AGREEMENT}/move/", agreed.AgreementMoveView.as_view(), name="agreement-move"),
    path(f"{C}/containers/", agreed.ContainersView.as_view(), name="containers"),
    path(f"{CONTAINER}/retire/", agreed.ContainerRetireView.as_view(), name="container-retire"),
    path(f"{CONTAINER}/fill-reports/", agreed.FillReportsView.as_view(), name="fill-reports"),
    path(f"{C}/place-imports/", imports.PlaceImportsView.as_view(), name="place-imports"),
    path(f"{IMPORT}/", imports.PlaceImportView.as_view(), name="place-import"),
    path(f"{IMPORT}/save/", imports.PlaceImportSaveView.as_view(), name="place-import-save"),
]
