"""What an inspection's sample says about the whole."""

from network.lots.core.sampling import Share, contamination
from network.lots.models import Inspection
from network.materials import catalogue


def sampled_contamination(inspection: Inspection) -> Share | None:
    """Return the contamination by mass with its 95 % interval; None when nothing was sampled.

    How many pieces the sample had follows from the unit mass of the item mostly set aside; where
    that is not known the sample counts as one piece, which leaves nearly all open.
    """
    if not inspection.sample_g:
        return None
    item = catalogue.items().get(inspection.agreement.main_item_id)
    unit_mass = item.unit_mass if item else None
    return contamination(
        found_g=sum(finding.mass_g for finding in inspection.findings.all()),
        sample_g=inspection.sample_g,
        piece_g=round(unit_mass.value) if unit_mass else inspection.sample_g,
        whole_g=int(inspection.observation.get("mass_g") or 0) or inspection.sample_g + 1,
    )
