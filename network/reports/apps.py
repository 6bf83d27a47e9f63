from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "network.reports"
    label = "reports"
