from django.apps import AppConfig


class PickupsConfig(AppConfig):
    name = "network.pickups"
    label = "pickups"
