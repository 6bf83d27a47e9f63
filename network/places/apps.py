from django.apps import AppConfig


class PlacesConfig(AppConfig):
    name = "network.places"
    label = "places"
