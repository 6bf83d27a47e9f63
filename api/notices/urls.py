from django.urls import path

from api.notices import feed_views, push_views, views, webhook_views

C = "communities/<slug:community>/"
WEBHOOK = f"{C}webhooks/<uuid:webhook_id>/"

urlpatterns = [
    path(f"{C}notices/", views.NoticesView.as_view(), name="notices"),
    path(f"{C}notices/read/", views.NoticesReadView.as_view(), name="notices-read"),
    path(f"{C}notices/<uuid:notice_id>/read/", views.NoticeReadView.as_view(), name="notice-read"),
    path(f"{C}notice-choices/", views.NoticeChoicesView.as_view(), name="notice-choices"),
    path("push-key/", push_views.PushKeyView.as_view(), name="push-key"),
    path(f"{C}push-devices/", push_views.PushDevicesView.as_view(), name="push-devices"),
    path(
        f"{C}push-devices/<uuid:device_id>/remove/",
        push_views.PushDeviceRemoveView.as_view(),
        name="push-device-remove",
    ),
    path(f"{C}webhooks/", webhook_views.WebhooksView.as_view(), name="webhooks"),
    path(f"{WEBHOOK}stop/", webhook_views.WebhookStopView.as_view(), name="webhook-stop"),
    path(f"{WEBHOOK}try/", webhook_views.WebhookTryView.as_view(), name="webhook-try"),
    path(
        f"{WEBHOOK}deliveries/",
        webhook_views.WebhookDeliveriesView.as_view(),
        name="webhook-deliveries",
    ),
    path(f"{C}calendar-feeds/", feed_views.CalendarFeedsView.as_view(), name="calendar-feeds"),
    path(
        f"{C}calendar-feeds/<uuid:feed_id>/revoke/",
        feed_views.CalendarFeedRevokeView.as_view(),
        name="calendar-feed-revoke",
    ),
    path(
        "calendar-feeds/<str:token>/",
        feed_views.CalendarFeedFileView.as_view(),
        name="calendar-feed-file",
    ),
]
