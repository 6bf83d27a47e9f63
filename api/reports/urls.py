from django.urls import path

from api.reports import views

C = "communities/<slug:community>/reports/"

urlpatterns = [
    path(f"{C}diverted/", views.DivertedView.as_view(), name="report-diverted"),
    path(f"{C}diverted.csv", views.DivertedCsvView.as_view(), name="report-diverted-csv"),
    path(f"{C}diverted.xlsx", views.DivertedXlsxView.as_view(), name="report-diverted-xlsx"),
    path(f"{C}diverted.pdf", views.DivertedPdfView.as_view(), name="report-diverted-pdf"),
]
