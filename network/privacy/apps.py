from django.apps import AppConfig


class PrivacyConfig(AppConfig):
    name = "network.privacy"
    label = "privacy"
