"""Which grades bars for pickups come in; common practice, no source. A new grade is a table in ``magnets.toml``
(made by ``scripts/fit_magnet_curves.py``) and, where bars of it are sold, a word here."""

SOLD = ("alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-5-unoriented", "alnico-8", "ceramic-8")
"""Grades that a plan tries."""
LIKELY = ("alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-8", "ceramic-8")
"""Grades that a bar of unknown grade may be: its interval spans them."""
