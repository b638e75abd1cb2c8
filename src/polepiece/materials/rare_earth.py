"""Bars of rare earth as own constants of a guitar file: the catalogue has no grade of them, a person has a bar.

Their curves are straight nearly to HcB, so four constants say all; which grade a bar is, is rarely known: what is
computed follows from what is written. Values were read in the tables named, general ones of magnets; the standard
IEC 60404-8-1, which gives least values of the same quantities, was not seen.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RareEarth:
    """One sintered material; SI. Status: read."""

    name: str
    remanence: float  # T, middle of the printed range
    coercivity: float  # A/m, HcB
    energy_product: float  # J/m3, middle of the printed range
    recoil_permeability: float
    resistivity: float  # ohm m
    source: str

    @property
    def keys(self) -> str:
        """The constants as they are written into a guitar file."""
        return (
            f"remanence_t = {self.remanence:g}, coercivity_ka_per_m = {self.coercivity / 1e3:g}, "
            f"energy_product_kj_per_m3 = {self.energy_product / 1e3:g}, "
            f"recoil_permeability = {self.recoil_permeability:g}, "
            f"resistivity_microohm_cm = {self.resistivity * 1e8:g}"
        )


NEODYMIUM = RareEarth(
    name="neodymium N35", remanence=1.19, coercivity=868e3, energy_product=275e3, recoil_permeability=1.05,
    resistivity=150e-8,
    source="vormagelectronics.com/NdFeB-magnets.html (1.17 to 1.21 T, at least 868 kA/m, 263 to 287 kJ/m3); "
    "stanfordmagnets.com/characteristics-of-ndfeb-magnets.html (resistivity); albmagnets.com (recoil); read",
)  # fmt: skip
SAMARIUM_COBALT = RareEarth(
    name="samarium-cobalt 2:17", remanence=1.049, coercivity=759e3, energy_product=199e3, recoil_permeability=1.1,
    resistivity=86e-8, source="femm.info/wiki/SmCoProperties, table 2, and magnetsales.com/SMCO/smcoprops.htm; read",
)  # fmt: skip
