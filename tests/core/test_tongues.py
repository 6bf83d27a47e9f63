"""What the server says is said in German as well, and says the same."""

import ast
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import MillraceError
from network.materials.core.words import TEXTS
from network.pickups.cautions import CAUTION_TEXT
from network.pickups.core.reasons import REASON_TEXT
from network.pickups.words import VIOLATION_TEXT
from network.tongues import LANGUAGES, entries, translated
from network.workshop.cautions import CAUTION_TEXT as WORKSHOP_CAUTIONS
from network.workshop.cautions import NEVER_FLAME_OR_SNIFF
from network.workshop.core.custody import MEANING
from network.workshop.queries import heating, passports, pricing
from network.workshop.queries.mixing import FLOW_TEXT

ROOT = Path(__file__).resolve().parents[2]
OTHERS = [language for language in LANGUAGES if language != "en"]
PLACE = re.compile(r"\{[^}]*\}")
MEND = "translate it in network/words/{}/, sentence by sentence; docs/glossary.de.md has the words"

SENTENCES = [
    *(sentence for text in TEXTS.values() for sentence in (text.reason, text.next_time)),
    *REASON_TEXT.values(),
    *VIOLATION_TEXT.values(),
    *CAUTION_TEXT.values(),
    *WORKSHOP_CAUTIONS.values(),
    *MEANING.values(),
    *FLOW_TEXT.values(),
    *heating.NOTES,
    NEVER_FLAME_OR_SNIFF,
    passports.NOT_CERTIFIED,
    pricing.NOTE,
    *(refusal.__doc__ or "" for refusal in MillraceError.__subclasses__()),
]


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("sentence", dict.fromkeys(SENTENCES))
def test_a_verdict_a_reason_and_a_caution_are_said_in_every_language(
    sentence: str, language: str
) -> None:
    said = PLACE.sub("7.5 kg", sentence.replace(" {advice}", ""))
    assert translated(said, language) != said, f"{sentence!r}: " + MEND.format(language)


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_filled_in_is_filled_in_everywhere(language: str) -> None:
    differing = [
        english
        for english, said in entries(language).items()
        if sorted(PLACE.findall(english)) != sorted(PLACE.findall(said))
    ]
    assert not differing, f"these name other figures than the English in network/words/{language}/"


@pytest.mark.parametrize("language", OTHERS)
def test_no_catalogue_keeps_what_nobody_says(language: str) -> None:
    said = "\n".join(_said_in_the_code())
    stale = [english for english in entries(language) if PLACE.sub("{}", english) not in said]
    words = [english for english in stale if " " in english]
    assert not words, f"nothing says these any more; remove them from network/words/{language}/"


def _said_in_the_code() -> list[str]:
    """Return every text in the code and in the templates of mails, `{}` for what is filled in."""
    paths = [path for room in ("network", "api") for path in (ROOT / room).rglob("*.py")]
    found = [text for path in paths for text in _texts(ast.parse(path.read_text()))]
    templates = [*ROOT.glob("*/templates/**/*.*"), *ROOT.glob("*/*/templates/**/*.*")]
    mails = [re.sub(r"\{\{[^}]*\}\}", "{}", path.read_text()) for path in templates]
    reference = [path.read_text() for path in ROOT.glob("network/materials/reference/*")]
    return [*found, *mails, *reference, *(text.lower() for text in reference)]


def _texts(tree: ast.AST) -> list[str]:
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.append(PLACE.sub("{}", node.value))
        elif isinstance(node, ast.JoinedStr):
            parts = [
                str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
            ]
            found.append("".join(parts))
    return found


@given(grams=st.integers(min_value=1, max_value=10**6), tenths=st.integers(0, 9))
def test_a_figure_is_the_same_in_every_language_with_its_decimal_comma(
    grams: int, tenths: int
) -> None:
    said = translated(f"Too heavy for van Grey van by {grams}.{tenths} kg.", "de")
    assert f"{grams},{tenths} kg" in said
    assert "Grey van" in said


def test_days_words_and_lists_in_a_sentence_are_said_too() -> None:
    assert (
        translated("A visit is planned already: Tuesday 3 November 2026.", "de")
        == "Eine Abholung ist schon geplant: Dienstag, 3. November 2026."
    )
    assert (
        translated("Keep only these: bottle cap, jerrycan.", "de")
        == "Nur diese sammeln: Verschlusskappe, Kanister."
    )


def test_several_sentences_are_not_taken_for_one_with_figures_in_it() -> None:
    said = "Do not pick it out: glass cuts. Ask a grown-up, and keep glass in its own bin."
    assert translated(said, "de").startswith("Nicht herausholen: Glas schneidet. Erwachsene")


def test_what_is_not_known_stays_as_it_is() -> None:
    assert translated("A sentence of nobody.", "de") == "A sentence of nobody."
    assert translated("Something was refused.", "fr") == "Something was refused."
