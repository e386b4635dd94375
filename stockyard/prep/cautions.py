"""The usual cautions for work that can hurt someone. The label and local rules come before anything here."""

from datetime import date
from enum import StrEnum


class Hazard(StrEnum):
    """What in a step can hurt someone."""

    BLADES = "blades"
    DUST = "dust"
    CYANOACRYLATE = "cyanoacrylate"
    EPOXY = "epoxy"
    HEAVY = "heavy stock"
    FINISH = "finish"


CAUTIONS = {
    Hazard.BLADES: "Guards and riving knife on, push sticks, hands clear; isolate a machine before"
    " touching its cutter.",
    Hazard.DUST: "Wood dust causes cancer (IARC group 1) and some species sensitise: extract at the tool and"
    " wear a respirator that fits.",
    Hazard.CYANOACRYLATE: "Bonds skin in seconds, its vapour stings eyes and airways, and it grows hot on"
    " cotton: eye protection, moving air, no cotton gloves.",
    Hazard.EPOXY: "Resin and hardener sensitise skin for life: gloves, no solvent on skin, thin pours against"
    " heat, no sanding before full cure.",
    Hazard.HEAVY: "Lift long or wide stock with help, and support it on both sides of the machine.",
    Hazard.FINISH: "Moving air, no flame; rags wet with drying oil are laid flat or put under water, for they"
    " can take fire by themselves.",
}
DEFER = "Read the product's label and safety sheet, and follow local rules; they come before this sheet."

DUST_LIMITS = (
    (None, "hardwood 1 mg/m3, softwood 5 mg/m3, over 8 hours (an Australian consultant's guide)"),
    (
        date(2026, 12, 1),
        "0.5 mg/m3 inhalable for all wood dust, over 8 hours (consultants' guides to the Workplace Exposure"
        " Limits; look the figure up in the official list)",
    ),
)
"""Exposure limits for wood dust in Australia by the day they hold from."""


def dust_limit(on: date) -> str:
    """The exposure limit for wood dust that holds on a day, in words, with where it was read."""
    return [words for since, words in DUST_LIMITS if since is None or since <= on][-1]


def cautions(hazards: set[Hazard], on: date) -> tuple[str, ...]:
    """The cautions for a step or a sheet, in a fixed order, with what they defer to last."""
    said = [CAUTIONS[hazard] for hazard in Hazard if hazard in hazards]
    if Hazard.DUST in hazards:
        said.append(f"Limit for wood dust: {dust_limit(on)}.")
    return (*said, DEFER) if said else ()
