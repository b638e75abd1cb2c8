"""Shapes that constructions are drawn with: rows of poles, a keeper, bars. Lengths in m, axes as in `records`."""

from dataclasses import replace

from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Section, SteelBar, SteelRod
from polepiece.guitar.parts import Magnet, Poles
from polepiece.materials import catalogue

LEAST_SEPARATION = 0.05e-3  # m; parts that touch are drawn this far apart

Stretch = tuple[float, float]  # along x, m


def pole_ys(poles: Poles) -> tuple[float, ...]:
    """Return the y of each pole, string 1 (at +y) first, m."""
    return tuple((0.5 * (poles.count - 1) - k) * poles.pole_spacing for k in range(poles.count))


def row_of_screws(poles: Poles, x: float, *, second: bool = False) -> tuple[SteelRod, ...]:
    """Return screws as they are turned, through the keeper where there is one; ``second``: those of the other row."""
    through = (poles.keeper_bottom, poles.keeper_top) if poles.keeper_x_min is not None else None
    raised = poles.second_screw_raise if second else poles.screw_raise
    part = "second screws" if second else "screws"
    rods = []
    for k, y in enumerate(pole_ys(poles)):
        up = raised[k] if k < len(raised) else 0.0
        top = poles.screw_top + up
        sections = [Section(bottom=poles.screw_bottom + up, top=top, radius=0.5 * poles.screw_diameter)]
        if poles.head_height > 0.0:
            sections.append(Section(bottom=top, top=top + poles.head_height, radius=0.5 * poles.head_diameter))
        rods.append(SteelRod(part=part, x=x, y=y, sections=tuple(sections), through=through))
    return tuple(rods)


def row_of_slugs(poles: Poles, x: float, lift: float = 0.0) -> tuple[SteelRod, ...]:
    """Return plain steel poles whose lower ends are ``lift`` higher than their record says."""
    section = Section(bottom=poles.slug_bottom + lift, top=poles.slug_height, radius=0.5 * poles.slug_diameter)
    return tuple(SteelRod(part="slugs", x=x, y=y, sections=(section,)) for y in pole_ys(poles))


def row_of_magnets(magnet: Magnet, poles: Poles) -> tuple[MagnetRod, ...]:
    """Return rod magnets in the middle, standing on z = 0."""
    return tuple(
        MagnetRod(part="magnet", x=0.0, y=y, radius=0.5 * poles.rod_diameter, bottom=0.0, top=length, sign=sign(magnet))
        for y, length in zip(pole_ys(poles), poles.rod_lengths)
    )


def halves_of_magnets(magnet: Magnet, poles: Poles, first: float, second: float) -> tuple[MagnetRod, ...]:
    """Return rod magnets, those at y > 0 at x = ``first``, the others at ``second`` and the other way round."""
    return tuple(
        one if one.y > 0.0 else replace(one, x=second, sign=-one.sign)
        for one in (replace(rod, x=first) for rod in row_of_magnets(magnet, poles))
    )


def keeper(poles: Poles, x: float) -> tuple[SteelBar, ...]:
    """Return the keeper with holes for the screws at ``x``; nothing where there is none."""
    if poles.keeper_x_min is None or poles.keeper_x_max is None:
        return ()
    half = 0.5 * poles.keeper_length
    holes = tuple((x, y, 0.5 * poles.screw_diameter) for y in pole_ys(poles))
    return (
        SteelBar(
            part="keeper", x_min=poles.keeper_x_min, x_max=poles.keeper_x_max, y_min=-half, y_max=half,
            z_min=poles.keeper_bottom, z_max=poles.keeper_top, holes=holes,
        ),
    )  # fmt: skip


def blade(poles: Poles, x: float, *, second: bool = False, lift: float = 0.0) -> SteelBar:
    """Return the blade round ``x``, its lower edge ``lift`` higher than its record says; ``second``: the other one."""
    half, long = 0.5 * poles.blade_thickness, 0.5 * poles.blade_length
    return SteelBar(
        part="second blades" if second else "blades", x_min=x - half, x_max=x + half, y_min=-long, y_max=long,
        z_min=poles.blade_bottom + lift, z_max=poles.blade_top, role="blade",
    )  # fmt: skip


def plate_under_rods(poles: Poles) -> SteelBar:
    """Return the steel plate under the rods that stand on z = 0, with the air between them."""
    top = -max(poles.plate_gap, LEAST_SEPARATION)
    x, y = 0.5 * poles.plate_width, 0.5 * poles.plate_length
    return SteelBar(
        part="plate", x_min=-x, x_max=x, y_min=-y, y_max=y, z_min=top - poles.plate_thickness, z_max=top, role="plate",
        holes=tuple((0.0, at, 0.5 * poles.rod_diameter) for at in pole_ys(poles)),
    )  # fmt: skip


def mirrored_keeper(poles: Poles, x: float) -> tuple[SteelBar, ...]:
    """Return the image in x = 0 of the keeper round the screws at -``x``."""
    return tuple(
        replace(one, x_min=-one.x_max, x_max=-one.x_min, holes=tuple((-at, y, radius) for at, y, radius in one.holes))
        for one in keeper(poles, -x)
    )


def sign(magnet: Magnet) -> float:
    """Return +1 for a magnet as drawn, -1 for one that is turned."""
    return -1.0 if magnet.flipped else 1.0


def contact(magnet: Magnet) -> tuple[float, float]:
    """Return the air between bar and steel on each side (m) and the share of the section that is sound metal.

    Rough cast is a finish of any alnico: more air, less section, nothing else (stated assumption).
    """
    finish = catalogue.finish("alnico-5-rough-cast") if magnet.finish == "rough-cast" else None
    if finish is None:
        return magnet.bar_to_pole_gap, 1.0
    return magnet.bar_to_pole_gap + 0.5 * sum(finish.gap_a_side), 1.0 - 0.5 * sum(finish.section_loss)


def bar(magnet: Magnet, poles: Poles, x: Stretch, *, easy: int, turned: float = 1.0) -> MagnetBox:
    """Return a bar over ``x`` on z = 0, along the row; ``turned`` = -1 is the other way round."""
    half, share = 0.5 * magnet.length, contact(magnet)[1]
    return MagnetBox(
        part="magnet", x_min=x[0], x_max=x[1], y_min=-half, y_max=half, z_min=0.0, z_max=magnet.thickness * share,
        easy=easy, sign=turned * sign(magnet), marks=pole_ys(poles),
    )  # fmt: skip


def one_bar(magnet: Magnet, _: Poles) -> tuple[Stretch, ...]:
    """Return the stretch of a bar in the middle, as wide as it is."""
    return ((-0.5 * magnet.width, 0.5 * magnet.width),)


def bar_between(magnet: Magnet, poles: Poles) -> MagnetBox:
    """Return a bar in the middle, between two rows; the air is taken from its width: steel stays where it is drawn."""
    through_width = magnet.magnetised_through == "width"
    half = 0.5 * magnet.width - (contact(magnet)[0] if through_width else 0.0)
    return bar(magnet, poles, (-half, half), easy=2 if magnet.magnetised_through == "thickness" else 0)


def slugs_and_screws(magnet: Magnet, poles: Poles) -> Assembly:
    """Return a row of slugs and one of screws in their keeper, the bar between slugs and keeper."""
    x = poles.row_offset
    return Assembly(
        rods=row_of_slugs(poles, x) + row_of_screws(poles, -x), bars=keeper(poles, -x),
        magnets=(bar_between(magnet, poles),),
    )  # fmt: skip


def two_blades(magnet: Magnet, poles: Poles) -> Assembly:
    """Return a blade on each side of a bar."""
    x = poles.row_offset
    return Assembly(bars=(blade(poles, x), blade(poles, -x, second=True)), magnets=(bar_between(magnet, poles),))


def slug_stretch(poles: Poles) -> Stretch:
    """Return the stretch of slugs in the middle."""
    return -0.5 * poles.slug_diameter, 0.5 * poles.slug_diameter


def bars_beside(magnet: Magnet, poles: Poles, inner: Stretch) -> tuple[MagnetBox, ...]:
    """Return a bar on each side of what stands over ``inner``, like poles to it, and the air of the contact between."""
    air = max(contact(magnet)[0], LEAST_SEPARATION)
    left = bar(magnet, poles, (inner[0] - air - magnet.width, inner[0] - air), easy=0)
    return left, bar(magnet, poles, (inner[1] + air, inner[1] + air + magnet.width), easy=0, turned=-1.0)


def two_stretches(magnet: Magnet, inner: Stretch) -> tuple[Stretch, ...]:
    """Return the stretches of two bars that touch what stands over ``inner``."""
    return (inner[0] - magnet.width, inner[0]), (inner[1], inner[1] + magnet.width)
