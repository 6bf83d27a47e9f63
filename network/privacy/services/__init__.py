"""Letting go: a person is erased, and what is no longer needed is deleted."""

from network.privacy.services.erasing import ERASED, erase_person
from network.privacy.services.retention import delete_what_has_had_its_time

__all__ = ["ERASED", "delete_what_has_had_its_time", "erase_person"]
