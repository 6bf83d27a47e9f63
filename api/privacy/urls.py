from django.urls import path

from api.privacy import views

C = "communities/<slug:community>/"

urlpatterns = [
    path("account/data/", views.AccountDataView.as_view(), name="account-data"),
    path("account/erase/", views.AccountEraseView.as_view(), name="account-erase"),
    path(f"{C}leave/", views.CommunityLeaveView.as_view(), name="community-leave"),
    path(f"{C}organiser/pass-on/", views.OrganiserPassOnView.as_view(), name="organiser-pass-on"),
    path(
        f"{C}memberships/<uuid:membership_id>/end/",
        views.MembershipEndView.as_view(),
        name="membership-end",
    ),
]
