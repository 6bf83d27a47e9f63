from django.urls import path

from api.people import community_settings, machine_views, trail, views

C = "communities/<slug:community>/"

urlpatterns = [
    path("session/", views.SessionView.as_view(), name="session"),
    path("session/link/", views.SessionLinkView.as_view(), name="session-link"),
    path("account/", views.AccountView.as_view(), name="account"),
    path("invitations/<str:token>/", views.InvitationView.as_view(), name="invitation"),
    path(
        "invitations/<str:token>/accept/",
        views.InvitationAcceptView.as_view(),
        name="invitation-accept",
    ),
    path("communities/", views.CommunitiesView.as_view(), name="communities"),
    path(C, views.CommunityDetailView.as_view(), name="community"),
    path(
        f"{C}settings/",
        community_settings.CommunitySettingsView.as_view(),
        name="community-settings",
    ),
    path(f"{C}districts/", views.DistrictsView.as_view(), name="districts"),
    path(f"{C}invitations/", views.InvitationsView.as_view(), name="invitations"),
    path(f"{C}organisations/", views.OrganisationsView.as_view(), name="organisations"),
    path(f"{C}members/", views.MembersView.as_view(), name="members"),
    path(f"{C}trail/", trail.TrailView.as_view(), name="trail"),
    path(f"{C}machine-tokens/", machine_views.MachineTokensView.as_view(), name="machine-tokens"),
    path(
        f"{C}machine-tokens/<uuid:token_id>/revoke/",
        machine_views.MachineTokenRevokeView.as_view(),
        name="machine-token-revoke",
    ),
]
