"""A grade of permanent magnet as a record: its curve, recoil, physical data, spreads and sources."""

from dataclasses import dataclass, field, replace
from typing import Literal

from polepiece.errors import InputError
from polepiece.materials.curve import Hyperbola, KneeCurve, KneeShape, MajorCurve

Family = Literal["alnico", "ferrite", "own"]
Law = Literal["hyperbola", "curve"]
Status = Literal["read", "memory", "assumption"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a number comes from.

    ``status`` is ``read`` (seen in the document named), ``memory`` (known, not seen) or ``assumption``.
    """

    id: str
    status: Status
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetMaterial:
    """One grade of magnet, SI.

    ``spread`` maps a quantity (``remanence``, ``coercivity``, ``energy_product``, ``recoil_permeability``,
    ``resistivity``) to the (low, high) of its 90 % range; ``statuses`` maps it to where it comes from.
    ``resistivity`` None means that it does not conduct.
    """

    slug: str
    name: str
    family: Family
    curve: MajorCurve
    recoil_permeability: float  # relative
    resistivity: float | None = None  # ohm m
    temperature_coefficient: float | None = None  # of Br, 1/K
    density: float | None = None  # kg/m3
    oriented: bool = True
    status: Status = "read"  # the weakest of its quantities
    statuses: dict[str, Status] = field(default_factory=dict, hash=False)  # by quantity
    note: str = ""
    spread: dict[str, tuple[float, float]] = field(default_factory=dict, hash=False)
    sources: tuple[Source, ...] = ()
    together: tuple[tuple[float, ...], ...] = ()  # correlations of remanence, coercivity, energy product and recoil
    #                                               permeability from bar to bar; empty: none is known

    def __post_init__(self) -> None:
        if not 1.0 <= self.recoil_permeability <= 20.0:
            raise InputError(
                f"{self.slug}: recoil_permeability is {self.recoil_permeability}; it is relative to mu0 and "
                "lies between 1 and 20."
            )
        if self.resistivity is not None and not 1e-8 <= self.resistivity <= 1e6:
            raise InputError(
                f"{self.slug}: resistivity is {self.resistivity} ohm m; conductors lie near 1e-7 to 1e-6. "
                "1 microohm cm is 1e-8 ohm m; leave it out for a magnet that does not conduct."
            )

    @property
    def remanence(self) -> float:
        """Br, T."""
        return self.curve.remanence

    @property
    def coercivity(self) -> float:
        """HcB, A/m, positive."""
        return self.curve.coercivity

    @property
    def energy_product(self) -> float:
        """(BH)max, J/m3."""
        return self.curve.energy_product

    def with_constants(
        self,
        *,
        remanence: float | None = None,
        coercivity: float | None = None,
        energy_product: float | None = None,
        recoil_permeability: float | None = None,
        resistivity: float | None = None,
        limit: bool = False,
    ) -> "MagnetMaterial":
        """The same grade with other constants, for tolerance sampling.

        Parameters
        ----------
        remanence, coercivity, energy_product : float, optional
            T, A/m, J/m3; None keeps the value (``energy_product`` follows when another changes).
        recoil_permeability, resistivity : float, optional
            Relative; ohm m.
        limit : bool
            Move an ``energy_product`` that the curve cannot have to the nearest possible one instead of
            refusing it. Independent draws of the three constants need this.

        Returns
        -------
        MagnetMaterial

        Raises
        ------
        InputError
            If the constants cannot belong to one magnet.
        """
        curve = self.curve
        if not (remanence is None and coercivity is None and energy_product is None):
            curve = curve.scaled(remanence=remanence, coercivity=coercivity, energy_product=energy_product, limit=limit)
        return replace(
            self,
            curve=curve,
            recoil_permeability=(self.recoil_permeability if recoil_permeability is None else recoil_permeability),
            resistivity=self.resistivity if resistivity is None else resistivity,
        )


def from_constants(
    remanence: float,
    coercivity: float,
    energy_product: float,
    recoil_permeability: float,
    *,
    resistivity: float | None = None,
    law: Law = "hyperbola",
    shape: KneeShape | None = None,
) -> MagnetMaterial:
    """A magnet from its own constants.

    Parameters
    ----------
    remanence, coercivity, energy_product : float
        Br in T, HcB in A/m (positive), (BH)max in J/m3.
    recoil_permeability : float
        Relative.
    resistivity : float, optional
        ohm m; None does not conduct.
    law : {"hyperbola", "curve"}
        ``Hyperbola`` (verification) or ``KneeCurve``.
    shape : KneeShape, optional
        Shape of the curve; needed when ``law`` is "curve".

    Returns
    -------
    MagnetMaterial
        With slug "own".

    Raises
    ------
    InputError
        If the constants cannot belong to one magnet, or the shape is missing.
    """
    curve: MajorCurve
    if law == "hyperbola":
        curve = Hyperbola(remanence=remanence, coercivity=coercivity, energy_product=energy_product)
    elif law == "curve":
        if shape is None:
            raise InputError('law "curve" needs a shape; take that of the nearest grade.')
        curve = KneeCurve(
            remanence=remanence,
            coercivity=coercivity,
            energy_product=energy_product,
            shape=shape,
        )
    else:
        raise InputError(f'law is {law!r}; allowed are "hyperbola" and "curve".')
    return MagnetMaterial(
        slug="own",
        name="own constants",
        family="own",
        curve=curve,
        recoil_permeability=recoil_permeability,
        resistivity=resistivity,
        oriented=False,
        status="assumption",
        note="constants given by the user",
    )
