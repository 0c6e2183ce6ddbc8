"""How much adhesive a frame takes, and who says so."""

from __future__ import annotations

from datetime import date

from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.safety.briefing import grams_of
from benchterm.safety.products import ProductKind, find_product


def adhesive_amount(facts: Facts, practice: Practice, today: date) -> tuple[float, str]:
    """Grams on one frame and who says so: the glue's own file, or else the shop's table.

    Raises:
        BenchError: a product's file is missing or wrong.
    """
    for name in facts.products:
        product = find_product(name, today)
        if product.kind is ProductKind.ADHESIVE:
            whose = "the shop's table" if product.grams is None else f"by {name}.toml"
            return grams_of(product, practice), whose
    return practice.adhesive_g, "the shop's table: practice.adhesive_g, a default"
