from django.urls import path

from api.reports import balances, epcis, joining, lines, open_data, quality, scenario, views

C = "communities/<slug:community>/reports/"

urlpatterns = [
    path(f"{C}quality/", quality.QualityView.as_view(), name="report-quality"),
    path(f"{C}balance/", balances.BalanceView.as_view(), name="report-balance"),
    path(f"{C}balance.csv", balances.BalanceCsvView.as_view(), name="report-balance-csv"),
    path(f"{C}balance.xlsx", balances.BalanceXlsxView.as_view(), name="report-balance-xlsx"),
    path(f"{C}lines.csv", lines.LinesCsvView.as_view(), name="report-lines-csv"),
    path(f"{C}events.jsonld", epcis.EpcisView.as_view(), name="report-epcis"),
    path(f"{C}scenario/", scenario.ScenarioView.as_view(), name="report-scenario"),
    path(f"{C}scenario/factors/<str:code>/", scenario.FactorView.as_view(), name="scenario-factor"),
    path(f"{C}open-data.zip", open_data.OpenDataView.as_view(), name="report-open-data"),
    path(f"{C}joined/", joining.JoinedView.as_view(), name="report-joined"),
    path(f"{C}joined/places/", joining.OthersPlacesView.as_view(), name="others-places"),
    path(f"{C}joined/places/<uuid:place>/", joining.OthersPlaceView.as_view(), name="others-place"),
    path(f"{C}diverted/", views.DivertedView.as_view(), name="report-diverted"),
    path(f"{C}diverted.csv", views.DivertedCsvView.as_view(), name="report-diverted-csv"),
    path(f"{C}diverted.xlsx", views.DivertedXlsxView.as_view(), name="report-diverted-xlsx"),
    path(f"{C}diverted.pdf", views.DivertedPdfView.as_view(), name="report-diverted-pdf"),
]
