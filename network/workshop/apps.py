from django.apps import AppConfig


class WorkshopConfig(AppConfig):
    name = "network.workshop"
    label = "workshop"
