from django.urls import URLPattern, path

from api.places import agreed, imports, views

C = "communities/<slug:community>"
PLACE = f"{C}/places/<uuid:place_id>"
CONTAINER = f"{C}/containers/<uuid:container_id>"
AGREEMENT = f"{C}/agreements/<uuid:agreement_id>"
IMPORT = f"{C}/place-imports/<uuid:import_id>"

urlpatterns: list[URLPattern] = [
    path(f"{C}/offers/", views.OffersView.as_view(), name="offers"),
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
