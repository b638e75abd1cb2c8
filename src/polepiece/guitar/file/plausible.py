"""Do the parts of a pickup fit? Parts that would share space are named."""

from typing import NamedTuple

from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions.pole import Row
from polepiece.guitar.parts import Sheet
from polepiece.guitar.records import Pickup

TOUCH = 1e-6  # m; parts may touch


class _Box(NamedTuple):
    """A part in the section y = 0: its stretch along x and along z, m."""

    x0: float
    x1: float
    z0: float
    z1: float

    def overlap(self, other: "_Box") -> float:
        """Return the depth to which two boxes overlap, 0 where they touch or miss."""
        along = min(self.x1, other.x1) - max(self.x0, other.x0)
        up = min(self.z1, other.z1) - max(self.z0, other.z0)
        return min(along, up) if min(along, up) > TOUCH else 0.0

    def __str__(self) -> str:
        x0, x1, z0, z1 = (f"{one * 1e3:.4g}" for one in self)
        return f"x {x0} to {x1}, z {z0} to {z1} mm"


def check_pickup(pickup: Pickup) -> list[str]:
    """Return a sentence for every pair of parts that cannot both be where the file puts them."""
    disorder = [*_pole_order(pickup), *_keeper_order(pickup), *_coil_order(pickup)]
    return disorder or [*_solid_pairs(pickup), *_coil_pairs(pickup), *_sheets(pickup)]


def _mm(value: float) -> str:
    return f"{value * 1e3:.4g} mm"


def _round(x: float, diameter: float, bottom: float, top: float) -> _Box:
    return _Box(x - diameter / 2, x + diameter / 2, bottom, top)


def _rows(pickup: Pickup) -> dict[str, float]:
    """Return the x of each row of poles that the construction has."""
    return {row.pole.name: row.x(pickup.poles) for row in pickup.built.rows}


def _blade_bottom(pickup: Pickup) -> float:
    """Return the lower edge of the blades as drawn, m: one that stands on its bar is lifted by their contact."""
    drawn = [bar.z_min for bar in pickup.built.shapes(pickup.magnet, pickup.poles).bars if bar.is_blade]
    return min(drawn, default=pickup.poles.blade_bottom)


def _has_keeper(pickup: Pickup) -> bool:
    return pickup.built.has_keeper and pickup.poles.keeper_x_min is not None


def _parts(pickup: Pickup) -> dict[str, _Box]:
    """Return every solid part by its name."""
    poles, magnet, rows = pickup.poles, pickup.magnet, _rows(pickup)
    parts = {}
    if "slugs" in rows:
        parts["slugs"] = _round(rows["slugs"], poles.slug_diameter, poles.slug_bottom, poles.slug_height)
    for name in ("blades", "second blades"):
        if name in rows:
            parts[name] = _round(rows[name], poles.blade_thickness, _blade_bottom(pickup), poles.blade_top)
    if "rods" in rows:
        parts["rods"] = _round(0.0, poles.rod_diameter, 0.0, max(poles.rod_lengths))
    if "screws" in rows:
        x, up, down = rows["screws"], max(poles.screw_raise), min(poles.screw_raise)
        parts["screws"] = _round(x, poles.screw_diameter, poles.screw_bottom + down, poles.screw_top + up)
        head_top = poles.screw_top + poles.head_height + up
        parts["screw heads"] = _round(x, poles.head_diameter, poles.screw_top + down, head_top)
    if "second screws" in rows:
        x, up, down = rows["second screws"], max(poles.second_screw_raise), min(poles.second_screw_raise)
        parts["second screws"] = _round(x, poles.screw_diameter, poles.screw_bottom + down, poles.screw_top + up)
        head_top = poles.screw_top + poles.head_height + up
        parts["second screw heads"] = _round(x, poles.head_diameter, poles.screw_top + down, head_top)
    if _has_keeper(pickup):
        assert poles.keeper_x_min is not None and poles.keeper_x_max is not None
        parts["keeper"] = _Box(poles.keeper_x_min, poles.keeper_x_max, poles.keeper_bottom, poles.keeper_top)
    for x0, x1 in pickup.built.bar_stretches(magnet, poles)[-1:]:  # of two bars the other one mirrors it
        parts["bar"] = _Box(x0, x1, 0.0, magnet.thickness)
    for x0, x1 in pickup.built.bar_stretches(magnet, poles)[:-2]:  # of three
        parts["middle bar"] = _Box(x0, x1, 0.0, magnet.thickness)
    return parts


# ---------------------------------------------------------------- order


def _pole_order(pickup: Pickup) -> list[str]:
    """Poles have their tops above their bottoms, heads as wide as their screws, and stand apart."""
    poles, rows, found = pickup.poles, _rows(pickup), []
    diameters = {}
    if poles.count % 2 and any(row.half for row in pickup.built.rows):
        found.append(f"has {poles.count} poles in two halves; it needs an even number of them.")
    if "slugs" in rows:
        diameters["slug_diameter"] = poles.slug_diameter
        if poles.slug_bottom >= poles.slug_height:
            found.append(f"has slug_bottom {_mm(poles.slug_bottom)} not under slug_height {_mm(poles.slug_height)}.")
    if "screws" in rows:
        diameters |= {"screw_diameter": poles.screw_diameter, "head_diameter": poles.head_diameter}
        if poles.screw_bottom >= poles.screw_top:
            found.append(f"has screw_bottom {_mm(poles.screw_bottom)} not under screw_top {_mm(poles.screw_top)}.")
        if poles.head_diameter < poles.screw_diameter:
            found.append(f"has head_diameter {_mm(poles.head_diameter)} under its screw ({_mm(poles.screw_diameter)}).")
    if "rods" in rows:
        diameters["rod_diameter"] = poles.rod_diameter
    if "blades" in rows and poles.blade_bottom >= poles.blade_top:
        found.append(f"has blade_bottom {_mm(poles.blade_bottom)} not under blade_top {_mm(poles.blade_top)}.")
    for name, diameter in diameters.items():
        if poles.count > 1 and diameter > poles.pole_spacing + TOUCH:
            spacing = _mm(poles.pole_spacing)
            found.append(f"has neighbouring poles that overlap: {name} is {_mm(diameter)}, pole_spacing {spacing}.")
    return found


def _keeper_order(pickup: Pickup) -> list[str]:
    if not _has_keeper(pickup):
        return []
    poles, x = pickup.poles, _rows(pickup)["screws"]
    assert poles.keeper_x_min is not None and poles.keeper_x_max is not None
    if poles.keeper_x_min >= poles.keeper_x_max or poles.keeper_bottom >= poles.keeper_top:
        return ["has a keeper with its ends in the wrong order (x_min under x_max, bottom under top)."]
    if not poles.keeper_x_min < x < poles.keeper_x_max:
        stretch = f"{_mm(poles.keeper_x_min)} to {_mm(poles.keeper_x_max)}"
        return [f"has its keeper ({stretch}) beside its screws, which stand at x = {_mm(x)}."]
    return []


def _named_coils(pickup: Pickup) -> list[tuple[str, Coil, Row]]:
    """Return (name, coil, its row of poles) of every coil."""
    return [(row.coil, coil, row) for row, coil in zip(pickup.built.rows, pickup.coils, strict=True)]


def _coil_order(pickup: Pickup) -> list[str]:
    found = []
    for name, coil, _ in _named_coils(pickup):
        if coil.inner_half_x >= coil.outer_half_x or coil.inner_half_y >= coil.outer_half_y:
            found.append(f"has a {name} whose inner half-widths are not smaller than its outer ones.")
        if coil.bottom >= coil.top:
            found.append(f"has a {name} with bottom {_mm(coil.bottom)} not under top {_mm(coil.top)}.")
    return found


# ---------------------------------------------------------------- overlaps


_MAY_NOT_OVERLAP = (
    ("slugs", "bar"),
    ("slugs", "middle bar"),
    ("screws", "middle bar"),
    ("screws", "bar"),
    ("keeper", "bar"),
    ("screws", "slugs"),
    ("keeper", "slugs"),
    ("screw heads", "slugs"),
    ("screw heads", "bar"),
    ("screw heads", "keeper"),
    ("screw heads", "second screw heads"),
    ("blades", "bar"),
    ("second blades", "bar"),
    ("blades", "second blades"),
)  # a keeper and its screws are one body


def _solid_pairs(pickup: Pickup) -> list[str]:
    parts = _parts(pickup)
    found = []
    for one, other in _MAY_NOT_OVERLAP:
        if one in parts and other in parts and (depth := parts[one].overlap(parts[other])):
            where = f"{one} {parts[one]}; {other} {parts[other]}"
            found.append(f"has {one} and {other} that overlap by {_mm(depth)} ({where}).")
    return found


def _coil_pairs(pickup: Pickup) -> list[str]:
    """A coil clears its poles, their heads, the bar, the keeper and the other coil."""
    parts, poles, found, boxes = _parts(pickup), pickup.poles, [], []
    for name, coil, poles_of in _named_coils(pickup):
        row, x, y = poles_of.pole.name, poles_of.x(poles), poles_of.y(poles)
        outer = _Box(x - coil.outer_half_x, x + coil.outer_half_x, coil.bottom, coil.top)
        boxes.append((outer, y, coil.outer_half_y))
        for part in (row, row.replace("screws", "screw heads")) if row.endswith("screws") else (row,):
            box = parts[part]
            radius = (box.x1 - box.x0) / 2
            end = poles_of.half_length(poles) + radius
            if row.endswith("blades"):
                end = 0.5 * poles.blade_length
            if min(box.z1, coil.top) - max(box.z0, coil.bottom) <= TOUCH:
                continue
            for reach, hole in ((radius, "inner_half_x"), (end, "inner_half_y")):
                if reach > getattr(coil, hole) + TOUCH:
                    room = f"{hole} {_mm(getattr(coil, hole))}"
                    found.append(f"has {part} that overlap the {name}: they reach {_mm(reach)}, its {room}.")
        for solid in ("bar", "keeper"):
            if solid in parts and outer.overlap(parts[solid]):
                ends = f"it starts at {_mm(coil.bottom)}, the {solid} ends at {_mm(parts[solid].z1)}"
                found.append(f"has a {name} that overlaps the {solid}: {ends}.")
    if len(boxes) == 2:
        (one, y, long), (other, other_y, other_long) = boxes
        depth = min(one.overlap(other), max(long + other_long - abs(y - other_y), 0.0))
        if depth > TOUCH:
            found.append(f"has coils that overlap by {_mm(depth)} in the middle of the pickup.")
    return found


def _sheets(pickup: Pickup) -> list[str]:
    """A base plate lies under the magnet, a cover over the coils and the poles that do not turn."""
    found = []
    if pickup.base_plate is not None:
        face = pickup.base_plate.z + pickup.base_plate.thickness / 2
        if pickup.built.has_plate and face > -pickup.poles.plate_gap - pickup.poles.plate_thickness + TOUCH:
            found.append(f"has a base plate that overlaps the steel plate: its upper face is at {_mm(face)}.")
        elif face > TOUCH:
            found.append(f"has a base plate that overlaps the magnet: its upper face is at {_mm(face)}.")
    if pickup.cover is not None:
        face = pickup.cover.z - pickup.cover.thickness / 2
        tops = {name: coil.top for name, coil, _ in _named_coils(pickup)}
        tops |= {name: box.z1 for name, box in _parts(pickup).items() if name in ("slugs", "rods", "blades")}
        name, top = max(tops.items(), key=lambda one: one[1])
        if face < top - TOUCH:
            found.append(f"has a cover that overlaps the {name}: under face {_mm(face)}, they end at {_mm(top)}.")
    return found or [
        *_steel_sheet(pickup, "base plate", pickup.base_plate),
        *_steel_sheet(pickup, "cover", pickup.cover),
    ]


def _steel_sheet(pickup: Pickup, name: str, sheet: "Sheet | None") -> list[str]:
    """A steel sheet is solid: poles go through its holes, inside its rim."""
    if sheet is None or sheet.steel is None:
        return []
    low, high = sheet.z - 0.5 * sheet.thickness, sheet.z + 0.5 * sheet.thickness
    rim, hole = 0.5 * sheet.width, 0.5 * (sheet.hole or 0.0)
    found = []
    for part, box in _parts(pickup).items():
        if part in ("bar", "middle bar", "keeper") or min(box.z1, high) - max(box.z0, low) <= TOUCH:
            continue
        if part.endswith("blades"):
            found.append(
                f"has {part} that go through a steel {name}, whose slots are not modelled; next best: "
                f'{name.replace(" ", "_")} = "none", with inductance_h and the pole tops (magnet.measured_gauss) '
                "measured."
            )
        elif rim - TOUCH < max(-box.x0, box.x1) and min(-box.x0, box.x1) > -rim:
            found.append(f"has {part} that cut the rim of the steel {name}: {box}, it ends at x {_mm(rim)}.")
        elif hole and hole < 0.5 * (box.x1 - box.x0) + TOUCH and not part.endswith("heads"):
            found.append(f"has {part} that do not pass the holes of the steel {name}: {_mm(2 * hole)} wide, {box}.")
    return found
