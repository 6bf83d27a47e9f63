from typing import Any

from django.apps import AppConfig
from django.apps import apps as installed_apps
from django.db.models.signals import post_migrate


class MaterialsConfig(AppConfig):
    name = "network.materials"
    label = "materials"

    def ready(self) -> None:
        post_migrate.connect(_bring_reference_data, sender=self)


def _bring_reference_data(*, apps: Any = installed_apps, **_: object) -> None:
    """Load the reference data whenever tables were made, brought up to date or emptied.

    So a release that only corrects a figure needs no migration of its own.
    """
    from network.materials.services import load_reference_data

    try:
        apps.get_model("materials", "Figure")
    except LookupError:  # migrated back to before there were tables
        return
    load_reference_data()
