"""The agreement's rules, in the version agreed, applied to what was seen, and kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from network.errors import InvalidInput
from network.ids import new_id
from network.lots.models import Finding, Inspection, Lot
from network.materials import catalogue
from network.materials.core.acceptance import (
    Observation,
    Outcome,
    Stage,
    Verdict,
    evaluate,
    verdict_to_data,
)
from network.materials.core.observation_data import observation_from_data, observation_to_data
from network.materials.core.rules_data import rules_from_data
from network.people.core.actor import Actor
from network.places.models import Agreement, Container

_STAGES = {
    Inspection.Stage.DOORSTEP: Stage.DOORSTEP,
    Inspection.Stage.WORKSHOP: Stage.INSPECTION,
}


@dataclass(frozen=True, kw_only=True)
class Judged:
    """An observation with the verdict of an agreement's rules on it."""

    agreement: Agreement
    stage: str
    observation: Observation
    verdict: Verdict

    @property
    def is_turned_away(self) -> bool:
        """Whether the rules turn it away."""
        return self.verdict.outcome is Outcome.TURNED_AWAY


def judge(
    agreement: Agreement, observation: Mapping[str, object], *, stage: str, field: str
) -> Judged:
    """Return the verdict of the agreement's rules.

    Raises InvalidInput for an observation that cannot be; `field` is what the form calls it.
    """
    try:
        seen = observation_from_data(observation, stage=_STAGES[Inspection.Stage(stage)])
    except InvalidInput as refusal:
        faults = tuple(
            replace(fault, field=f"{field}.{fault.field}".rstrip(".")) for fault in refusal.fields
        )
        raise InvalidInput(refusal.detail, fields=faults) from None
    rules = rules_from_data(agreement.rule_version.rules)
    verdict = evaluate(rules, seen, catalogue.resins())
    return Judged(agreement=agreement, stage=stage, observation=seen, verdict=verdict)


def save_inspection(
    actor: Actor,
    *,
    judged: Judged,
    at: datetime,
    note: str,
    lot: Lot | None = None,
    container: Container | None = None,
    outcome: Outcome | None = None,
    id: UUID | None = None,  # noqa: A002  # the id of what is made
) -> Inspection:
    """Save an inspection with its findings; `outcome` is given where a person decided it."""
    verdict = verdict_to_data(judged.verdict)
    inspection = Inspection.objects.create(
        id=id or new_id(),
        community_id=actor.community_id,
        agreement=judged.agreement,
        container=container,
        lot=lot,
        rule_version_id=judged.agreement.rule_version_id,
        stage=judged.stage,
        observation=observation_to_data(judged.observation),
        sample_g=judged.observation.sample_g,
        verdict=(outcome or judged.verdict.outcome).value,
        reasons=verdict["reasons"],
        note=note,
        at=at,
        by_id=actor.user_id,
    )
    for found in judged.observation.found:
        if found.mass_g:
            Finding.objects.create(
                community_id=actor.community_id,
                inspection=inspection,
                kind=found.what.value,
                mass_g=found.mass_g,
            )
    return inspection


def with_findings(
    observation: Mapping[str, object],
    *,
    findings: Sequence[tuple[str, int]],
    sample_g: int | None,
    mass_g: int,
) -> dict[str, object]:
    """Return the observation with what was weighed of it: kinds found with their grams."""
    if findings and (not sample_g or sum(found_g for _, found_g in findings) > sample_g):
        raise InvalidInput.of(
            "sample_g",
            "What was found is part of the sample, so it weighs no more than that.",
            "Send the mass of all that was looked at.",
        )
    kinds = [kind for kind, _ in findings]
    if len(set(kinds)) != len(kinds):
        mend = "Add the grams of the two up."
        raise InvalidInput.of("findings", "One kind of finding is there twice.", mend)
    seen = observation.get("found", [])
    only_seen = [
        one
        for one in (seen if isinstance(seen, list) else [])
        if not (isinstance(one, Mapping) and one.get("what") in kinds)
    ]
    weighed = [{"what": kind, "mass_g": found_g} for kind, found_g in findings]
    return {
        **observation,
        "found": [*only_seen, *weighed],
        "sample_g": sample_g,
        "mass_g": mass_g,
    }


def refusal_of(judged: Judged) -> dict[str, object]:
    """Return what is told to someone whose wish the verdict does not allow."""
    return {"verdict": verdict_to_data(judged.verdict)}
