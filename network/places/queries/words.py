"""A version of a stream's rules as a place reads it."""

from network.materials import catalogue
from network.materials.models import RuleVersion
from network.materials.queries import rules_of
from network.places.core.rules_words import rules_in_words


def rules_for_places(version: RuleVersion) -> list[str]:
    """Return what a place must do under a version, a sentence each."""
    words = rules_in_words(rules_of(version), resins=catalogue.resins(), items=catalogue.items())
    return [line.text for line in (*words.keep, *words.ready, *words.never)]
