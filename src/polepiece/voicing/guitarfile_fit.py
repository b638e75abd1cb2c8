"""Do the parts of a pickup fit? Overlapping parts are named; a doubtful measure is asked about."""

from polepiece.voicing.guitar import Guitar, Pickup

TOUCH = 1e-6  # m; parts may touch


def _mm(value: float) -> str:
    return f"{value * 1e3:.4g} mm"


def _overlap(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return by how much two stretches overlap (0 where they touch or miss)."""
    depth = min(a[1], b[1]) - max(a[0], b[0])
    return depth if depth > TOUCH else 0.0


Box = tuple[tuple[float, float], tuple[float, float]]  # x stretch, z stretch


def _named_parts(pickup: Pickup) -> dict[str, Box]:
    """Return the parts of the section y = 0: stretch along x and stretch along z, screws at -x."""
    poles, magnet = pickup.poles, pickup.magnet
    offset = poles.row_offset
    parts: dict[str, Box] = {}
    if pickup.construction in ("humbucker", "bar-single"):
        parts["bar"] = ((-magnet.width / 2, magnet.width / 2), (0.0, magnet.thickness))
    has_keeper = poles.keeper_x_min is not None and poles.keeper_x_max is not None
    if pickup.construction in ("humbucker", "two-bar-single"):
        x = -offset if pickup.construction == "humbucker" else 0.0
        half, head = poles.screw_diameter / 2, poles.head_diameter / 2
        up, down = max(poles.screw_raise), min(poles.screw_raise)
        parts["screws"] = ((x - half, x + half), (poles.screw_bottom + down, poles.screw_top + up))
        parts["screw heads"] = (
            (x - head, x + head),
            (poles.screw_top + down, poles.screw_top + poles.head_height + up),
        )
        if has_keeper:
            assert poles.keeper_x_min is not None and poles.keeper_x_max is not None
            parts["keeper"] = (
                (poles.keeper_x_min, poles.keeper_x_max),
                (poles.keeper_bottom, poles.keeper_top),
            )
    if pickup.construction == "two-bar-single":
        inner = poles.keeper_x_max if poles.keeper_x_max is not None else poles.screw_diameter / 2
        parts["bar"] = ((inner, inner + magnet.width), (0.0, magnet.thickness))
    if pickup.construction in ("humbucker", "bar-single"):
        x = offset if pickup.construction == "humbucker" else 0.0
        half = poles.slug_diameter / 2
        parts["slugs"] = ((x - half, x + half), (poles.slug_bottom, poles.slug_height))
    if pickup.construction == "rod-single":
        half = poles.rod_diameter / 2
        parts["rods"] = ((-half, half), (0.0, max(poles.rod_lengths)))
    return parts


def _solid_pairs(pickup: Pickup) -> list[str]:
    """Pairs of solid parts that may not share space (a keeper and its screws are one body)."""
    parts = _named_parts(pickup)
    found = []
    pairs = (
        ("slugs", "bar"),
        ("screws", "bar"),
        ("keeper", "bar"),
        ("screws", "slugs"),
        ("keeper", "slugs"),
        ("screw heads", "slugs"),
        ("screw heads", "bar"),
        ("screw heads", "keeper"),
    )
    for one, other in pairs:
        if one in parts and other in parts:
            across, up = _overlap(parts[one][0], parts[other][0]), _overlap(parts[one][1], parts[other][1])
            if across and up:
                depth = min(across, up)
                found.append(
                    f"has {one} and {other} that overlap by {_mm(depth)}: {_place(one, parts)}, {_place(other, parts)}."
                )
    return found


def _place(name: str, parts: dict[str, Box]) -> str:
    (x0, x1), (z0, z1) = parts[name]
    return f"{name} x {x0 * 1e3:.4g} to {x1 * 1e3:.4g}, z {z0 * 1e3:.4g} to {z1 * 1e3:.4g} mm"


def _order(pickup: Pickup) -> list[str]:
    """Ends that must lie in order, and poles that must stand apart."""
    poles, found = pickup.poles, []
    humbucker, kind = pickup.construction == "humbucker", pickup.construction
    slugs, screws = kind in ("humbucker", "bar-single"), kind in ("humbucker", "two-bar-single")
    across = []
    if slugs:
        across.append(("slug_diameter", poles.slug_diameter))
        if poles.slug_bottom >= poles.slug_height:
            found.append(
                f"has slugs with their bottom ({_mm(poles.slug_bottom)}) not under their top ({_mm(poles.slug_height)})."
            )
    if screws:
        across += [("screw_diameter", poles.screw_diameter), ("head_diameter", poles.head_diameter)]
        if poles.screw_bottom >= poles.screw_top:
            found.append(
                f"has screws with their bottom ({_mm(poles.screw_bottom)}) not under their head ({_mm(poles.screw_top)})."
            )
        if poles.head_diameter < poles.screw_diameter:
            found.append(
                f"has screw heads ({_mm(poles.head_diameter)}) thinner than their screws ({_mm(poles.screw_diameter)})."
            )
        if poles.keeper_x_min is not None and poles.keeper_x_max is not None:
            x = -poles.row_offset if humbucker else 0.0
            if poles.keeper_x_min >= poles.keeper_x_max or poles.keeper_bottom >= poles.keeper_top:
                found.append(
                    "has a keeper with its ends in the wrong order (keeper_x_min < keeper_x_max, keeper_bottom < keeper_top)."
                )
            elif not poles.keeper_x_min < x < poles.keeper_x_max:
                found.append(
                    f"has a keeper beside its screws: they stand at x = {x * 1e3:.4g} mm, "
                    f"the keeper runs from {poles.keeper_x_min * 1e3:.4g} to {poles.keeper_x_max * 1e3:.4g} mm."
                )
    if kind == "rod-single":
        across.append(("rod_diameter", poles.rod_diameter))
    for name, diameter in across:
        if poles.count > 1 and diameter > poles.pole_spacing - TOUCH:
            found.append(
                f"has neighbouring poles that overlap: {name} is {_mm(diameter)}, pole_spacing {_mm(poles.pole_spacing)}."
            )
    return found


def _coil_faults(pickup: Pickup) -> list[str]:
    """A coil must have a window, clear its poles, the bar, the keeper and the other coil."""
    poles, found, parts = pickup.poles, [], _named_parts(pickup)
    names = ("slug coil", "screw coil") if pickup.construction == "humbucker" else ("coil",)
    rows = {"slug coil": "slugs", "screw coil": "screws"}
    single = {"rod-single": "rods", "bar-single": "slugs", "two-bar-single": "screws"}
    stretch = []
    for name, coil in zip(names, pickup.coils):
        row = rows.get(name) or single[pickup.construction]
        centre = {"slug coil": poles.row_offset, "screw coil": -poles.row_offset}.get(name, 0.0)
        if coil.inner_half_x >= coil.outer_half_x or coil.inner_half_y >= coil.outer_half_y:
            found.append(f"has a {name} whose inner half-widths are not smaller than the outer ones.")
            continue
        if coil.bottom >= coil.top:
            found.append(f"has a {name} with bottom {_mm(coil.bottom)} not under top {_mm(coil.top)}.")
            continue
        z = (coil.bottom, coil.top)
        x = (centre - coil.outer_half_x, centre + coil.outer_half_x)
        radius = (parts[row][0][1] - parts[row][0][0]) / 2
        ends = (poles.count - 1) / 2 * poles.pole_spacing + radius
        if _overlap(parts[row][1], z):
            if radius > coil.inner_half_x + TOUCH:
                found.append(
                    f"has {row} (radius {_mm(radius)}) wider than the hole of the {name} (inner_half_x {_mm(coil.inner_half_x)})."
                )
            if ends > coil.inner_half_y + TOUCH:
                found.append(
                    f"has {row} (out to y = {_mm(ends)}) longer than the hole of the {name} (inner_half_y {_mm(coil.inner_half_y)})."
                )
        heads = parts.get("screw heads")
        if (
            row == "screws"
            and heads
            and _overlap(heads[1], z)
            and (heads[0][1] - heads[0][0]) / 2 > coil.inner_half_x + TOUCH
        ):
            found.append(
                f"has screw heads inside the {name}: they start at z = {_mm(heads[1][0])}, the coil ends at {_mm(coil.top)}."
            )
        for solid in ("bar", "keeper"):
            if solid in parts and _overlap(parts[solid][0], x) and _overlap(parts[solid][1], z):
                found.append(
                    f"has a {name} in its {solid}: the coil starts at z = {_mm(coil.bottom)}, the {solid} ends at {_mm(parts[solid][1][1])}."
                )
        stretch.append((x, z))
    if (
        len(stretch) == 2
        and _overlap(stretch[0][0], stretch[1][0])
        and _overlap(stretch[0][1], stretch[1][1])
    ):
        found.append(
            f"has coils that overlap by {_mm(_overlap(stretch[0][0], stretch[1][0]))} in the middle."
        )
    return found


def _sheet_faults(pickup: Pickup) -> list[str]:
    """A base plate lies under everything flat, a cover over the fixed poles and coils."""
    found = []
    plate, cover = pickup.base_plate, pickup.cover
    if plate is not None and plate.z + plate.thickness / 2 > TOUCH:
        found.append(
            f"has a base plate (top face at z = {_mm(plate.z + plate.thickness / 2)}) in its magnet, which starts at z = 0."
        )
    if cover is not None:
        under = cover.z - cover.thickness / 2
        tops = {f"{name}": coil.top for name, coil in zip(("coil", "other coil"), pickup.coils)}
        if pickup.construction in ("humbucker", "bar-single"):
            tops["slugs"] = pickup.poles.slug_height
        if pickup.construction == "rod-single":
            tops["rods"] = max(pickup.poles.rod_lengths)
        name, top = max(tops.items(), key=lambda one: one[1])
        if under < top - TOUCH:
            found.append(
                f"has a cover (under face at z = {_mm(under)}) in its {name}, which end{'' if name.endswith('coil') else ''} at {_mm(top)}."
            )
    return found


def check_pickup(pickup: Pickup) -> list[str]:
    """Return a sentence for every pair of parts that cannot both be where the file puts them."""
    ordered = _order(pickup)
    return ordered or [*_solid_pairs(pickup), *_coil_faults(pickup), *_sheet_faults(pickup)]
