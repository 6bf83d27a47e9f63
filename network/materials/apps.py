from django.apps import AppConfig


class MaterialsConfig(AppConfig):
    name = "network.materials"
    label = "materials"
