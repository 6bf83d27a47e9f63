from django.urls import path

from api.notices import views

C = "communities/<slug:community>/"

urlpatterns = [
    path(f"{C}notices/", views.NoticesView.as_view(), name="notices"),
    path(f"{C}notices/read/", views.NoticesReadView.as_view(), name="notices-read"),
    path(f"{C}notices/<uuid:notice_id>/read/", views.NoticeReadView.as_view(), name="notice-read"),
    path(f"{C}notice-choices/", views.NoticeChoicesView.as_view(), name="notice-choices"),
]
