"""What to be warned of, in our own words, the most serious first; and what a session's glue adds.

These are general cautions. The safety data sheets, local codes, the fire code and whoever is
licensed for them come before every line here; in an emergency, help is called first.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

VERSION = "3"
"""Of the words in this file and of those that ``safety`` adds; raised when any of them changes."""
CAVEAT = (
    "General cautions and estimates, no measurement. The safety data sheets, local codes, the fire "
    "code and licensed professionals come first. In an emergency leave and call for help."
)
"""For the foot of whatever shows them."""


class Danger(Enum):
    """What a product brings with it, beyond what holds for every glue."""

    ANY = "any"
    ISOCYANATE = "isocyanate"
    FIRE = "fire"
    CYANOACRYLATE = "cyanoacrylate"
    ALLERGY = "allergy"
    POISON = "poison"


@dataclass(frozen=True, slots=True)
class Caution:
    """One line to be acknowledged."""

    id: str
    """Stable name, as in ``cotton``."""
    text: str


@dataclass(frozen=True, slots=True)
class Vapour:
    """What one ingredient adds to the air each time a screen is glued."""

    name: str
    litres: float
    """Vapour of one screen."""
    limit_ppm: float
    """The strictest limit over a shift."""
    limit_of: str
    """Whose limit that is, with its year."""
    lel_pct: float | None = None
    """Lower explosive limit, % by volume; ``None``: none known."""


@dataclass(frozen=True, slots=True)
class Briefing:
    """What the glue of a session asks for, worked out from the shop's product files beforehand."""

    products: tuple[str, ...] = ()
    """Their names, as they stand on the tin."""
    sheet_dates: tuple[str, ...] = ()
    """Of their safety data sheets, ISO 8601, in the same order; empty in older journals."""
    version: str = VERSION
    """Of the words of the cautions."""
    cautions: tuple[Caution, ...] = ()
    """For these very products; empty: no product is named, every general caution is asked."""
    closed: tuple[str, ...] = ()
    """Why no glue may be used with these products; empty: the gate opens with the cautions."""
    open_min: float | None = None
    """How long the glue stays workable, by its data sheet."""
    cure_min: float | None = None
    """How long it cures, by its data sheet."""
    vapours: tuple[Vapour, ...] = ()


ADHESIVE: tuple[tuple[str, Danger, str], ...] = (
    (
        "sheets",
        Danger.ANY,
        "Both safety data sheets read. Licensed professionals, local codes, fire code come first.",
    ),
    (
        "help",
        Danger.ANY,
        "Glue in an eye, a burn, bad breathing, swallowed: call emergency help at once.",
    ),
    (
        "wheeze",
        Danger.ISOCYANATE,
        "Isocyanate hardener: stop at any wheeze. Sensitised people do not use it.",
    ),
    (
        "fire",
        Danger.FIRE,
        "No flame, heater, spark, static or smoking: vapour can catch fire, and it runs low.",
    ),
    (
        "cotton",
        Danger.CYANOACRYLATE,
        "No cotton, wool or leather near instant glue: it can flash hot and burn.",
    ),
    (
        "air",
        Danger.ANY,
        "Air moves away from your face and out of the room; vapour pools under the bench.",
    ),
    (
        "poison",
        Danger.POISON,
        "Poison through skin, mouth and breath: none on the skin, no spray breathed, hands washed.",
    ),
    ("eyes", Danger.ANY, "Sealed eye protection on; hands stay away from the eyes."),
    ("rash", Danger.ALLERGY, "It can bring on an allergy: none on the skin; stop at any rash."),
    ("gloves", Danger.ANY, "Gloves of the kind the data sheets name, whole and dry."),
    (
        "thin",
        Danger.ANY,
        "Thin film, activator sparingly and never on skin: thick glue heats and fumes.",
    ),
    (
        "skin",
        Danger.CYANOACRYLATE,
        "Skin bonded: do not pull. Soak in warm soapy water, peel with a blunt edge.",
    ),
)
"""Before the glue: a stable name, the danger that asks for it, and the words."""

GENERAL = tuple(Caution(name, text) for name, _, text in ADHESIVE)
"""All of them, for a session that names no product."""
