from django.apps import AppConfig


class NoticesConfig(AppConfig):
    name = "network.notices"
    label = "notices"
