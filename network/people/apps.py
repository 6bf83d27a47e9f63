from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "network.people"
    label = "people"
