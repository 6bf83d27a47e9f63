from django.apps import AppConfig


class LotsConfig(AppConfig):
    name = "network.lots"
    label = "lots"
