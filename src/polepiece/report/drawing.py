"""A pickup drawn to scale from the very shapes that are computed: across the strings, and from above.

Both views share their scale and x; the pickup lies as in its own axes, screws on the left.
"""

from polepiece.errors import InputError
from polepiece.geometry import MagnetBox, MagnetRod, SteelBar, SteelRod
from polepiece.guitar import Guitar, Pickup, Slot, entered
from polepiece.pickup import Anatomy, anatomy, string_places
from polepiece.report import svg

MARGIN = 3.0  # mm
TEXT = 2.6  # mm, height of letters in the drawing


def _mm(metres: float) -> float:
    return 1e3 * metres


def pickup_drawing(guitar: Guitar, pickup: str) -> tuple[str, str, str]:
    """Return (side view, top view, what they show in words) of one pickup of ``guitar``; the views are SVG."""
    the_pickup = guitar.pickup(pickup)
    shape = anatomy(the_pickup)
    return _side(guitar, the_pickup, shape), _top(guitar, the_pickup, shape), describe(guitar, the_pickup, shape)


def construction_drawing(construction: str) -> str:
    """Return the section of a pickup that is built so, with the sizes that are assumed of one, as SVG: no strings.

    Raises
    ------
    InputError
        When there is no construction of that name.
    """
    shape = anatomy(_usual(construction))
    low, high, half = min(_lowest(shape), -2.0), max(_mm(shape.top), *_skirt_tops(shape), 0.0), _half_width(shape)

    def flip(z: float) -> float:
        return high - z

    pieces = _section(shape, flip)
    box = (-half, -1.0, 2.0 * half, high - low + 2.0)
    return _frame(pieces, box, f"{construction}, section across its poles")


def _usual(construction: str) -> Pickup:
    found = entered({}, [Slot(answers={"position": "neck", "construction": construction})])
    if found.guitar is None:
        raise InputError("; ".join(one.words for one in found.faults))
    return found.guitar.pickups[0]


def _section(shape: Anatomy, flip: "object") -> list[str]:
    pieces = [*_side_coils(shape, flip), *_side_plates(shape, flip), *_side_magnets(shape, flip)]
    pieces += [_box(bar.x_min, bar.x_max, bar.z_min, bar.z_max, flip, "steel") for bar in shape.assembly.bars]
    return pieces + [
        _box(rod.x - section.radius, rod.x + section.radius, section.bottom, section.top, flip, "steel")
        for rod in _front_row(shape) for section in rod.sections
    ]  # fmt: skip


def describe(guitar: Guitar, pickup: Pickup, shape: Anatomy) -> str:
    """Return the sizes of a pickup in a sentence or two."""
    parts = []
    for magnet in shape.assembly.magnets[:1]:
        if isinstance(magnet, MagnetBox):
            size = (magnet.y_max - magnet.y_min, magnet.x_max - magnet.x_min, magnet.z_max - magnet.z_min)
            count = len(shape.assembly.magnets)
            bars = "bar" if count == 1 else f"{count} bars, each"
            parts.append(f"{bars} {' x '.join(f'{_mm(one):.1f}' for one in size)} mm")
        else:
            parts.append(f"rod magnets {2 * _mm(magnet.radius):.1f} mm across")
    parts.append(f"poles {_mm(pickup.poles.pole_spacing):.1f} mm apart")
    parts.append(
        f"gap {_mm(pickup.gap_treble):.1f} mm treble, {_mm(pickup.gap_bass):.1f} mm bass (pressed at the last fret)"
    )
    if pickup.built.can_face:
        parts.append(f"{pickup.built.faces} the {pickup.screws_face}")
    return f"{pickup.name.capitalize()} pickup, {pickup.built.words}: {'; '.join(parts)}."


# ---------------------------------------------------------------- along y: the section across the strings


def _side(guitar: Guitar, pickup: Pickup, shape: Anatomy) -> str:
    _, heights = string_places(guitar, pickup)
    tops = [*(_mm(h) for h in heights), _mm(shape.top), *_skirt_tops(shape)]
    low = min(_lowest(shape), -2.0) - MARGIN
    high = max(tops) + MARGIN + TEXT
    half = _half_width(shape)

    def flip(z: float) -> float:
        return high - z

    pieces = _section(shape, flip)
    for name, k in (("string 1", 0), (f"string {len(heights)}", len(heights) - 1)):
        z = flip(_mm(float(heights[k])))
        diameter = max(_mm(guitar.strings[k].diameter), 0.35)
        pieces.append(svg.rectangle(-half, z - 0.5 * diameter, 2 * half, diameter, "string"))
        lower = k == 0 and heights[0] < heights[-1]
        edge = 0.5 * diameter  # a string of a bass is as thick as its label is tall
        pieces.append(svg.label(half, z + (edge + TEXT if lower else -edge - 0.7), name, "note", "end"))
    pieces.append(_scale_bar(-half, flip(low) - 1.5))
    size = (2 * half + 2 * MARGIN, high - low)
    return _frame(pieces, (-half - MARGIN, 0.0, *size), f"{pickup.name} pickup, section across its poles")


def _box(x0: float, x1: float, z0: float, z1: float, flip: "object", cls: str) -> str:
    top = flip(_mm(z1))  # type: ignore[operator]
    return svg.rectangle(_mm(x0), top, _mm(x1 - x0), _mm(z1 - z0), cls, 0.2)


def _side_coils(shape: Anatomy, flip: "object") -> list[str]:
    out = []
    for coil in shape.coils:
        for one, two in ((-coil.outer_half_x, -coil.inner_half_x), (coil.inner_half_x, coil.outer_half_x)):
            out.append(_box(coil.x + one, coil.x + two, coil.bottom, coil.top, flip, "coil"))
    return out


def _side_plates(shape: Anatomy, flip: "object") -> list[str]:
    out = []
    for plate in shape.sheets:
        t = max(plate.thickness, 0.4e-3)
        out.append(_box(plate.x_min, plate.x_max, plate.z - 0.5 * t, plate.z + 0.5 * t, flip, "plate"))
        if plate.skirt > 0.0:
            for x in (plate.x_min, plate.x_max - t):
                out.append(_box(x, x + t, plate.z - plate.skirt, plate.z, flip, "plate"))
    return out


def _side_magnets(shape: Anatomy, flip: "object") -> list[str]:
    out = []
    for magnet in shape.assembly.magnets:
        if isinstance(magnet, MagnetRod):
            beside = [m.y for m in shape.assembly.magnets if isinstance(m, MagnetRod) and m.x == magnet.x]
            if magnet.y != max(beside):
                continue
            left, right, low, high = magnet.x - magnet.radius, magnet.x + magnet.radius, magnet.bottom, magnet.top
            upright = True
        else:
            left, right, low, high = magnet.x_min, magnet.x_max, magnet.z_min, magnet.z_max
            upright = magnet.easy == 2
        names = ("S", "N") if magnet.sign > 0 else ("N", "S")
        middle = 0.5 * (low + high) if upright else 0.5 * (left + right)
        halves = (
            ((left, right, low, middle), (left, right, middle, high))
            if upright
            else ((left, middle, low, high), (middle, right, low, high))
        )
        for name, (x0, x1, z0, z1) in zip(names, halves):
            out.append(_box(x0, x1, z0, z1, flip, "north" if name == "N" else "south"))
            z = flip(_mm(0.5 * (z0 + z1))) + 0.36 * TEXT  # type: ignore[operator]
            if min(x1 - x0, z1 - z0) > 1.4e-3:
                out.append(svg.label(_pole_label(x0, x1, shape), z, name, "pole"))
    return out


def _pole_label(x0: float, x1: float, shape: Anatomy) -> float:
    """Return where a pole's letter is not hidden: the middle, or beside a rod or keeper that covers it."""
    covered = [(rod.x - s.radius, rod.x + s.radius) for rod in shape.assembly.rods for s in rod.sections]
    covered += [(bar.x_min, bar.x_max) for bar in shape.assembly.bars]
    inside = [one for one in covered if one[0] < x1 and one[1] > x0]
    low, high = x0, x1
    for start, stop in inside:
        if start <= low:
            low = max(low, min(stop, x1))
        else:
            high = min(high, start)
    return _mm(0.5 * (low + high)) if high - low > 1.2e-3 else _mm(0.5 * (x0 + x1))


def _front_row(shape: Anatomy) -> list[SteelRod]:
    first: dict[float, SteelRod] = {}
    for rod in shape.assembly.rods:
        key = round(rod.x, 6)
        if key not in first or rod.y > first[key].y:
            first[key] = rod
    return list(first.values())


def _lowest(shape: Anatomy) -> float:
    bottoms = [section.bottom for rod in shape.assembly.rods for section in rod.sections]
    bottoms += [bar.z_min for bar in shape.assembly.bars]
    bottoms += [plate.z - plate.skirt for plate in shape.plates]
    return _mm(min([0.0, *bottoms]))


def _skirt_tops(shape: Anatomy) -> list[float]:
    return [_mm(plate.z) for plate in shape.sheets]


def _half_width(shape: Anatomy) -> float:
    edges = [abs(coil.x) + coil.outer_half_x for coil in shape.coils]
    edges += [plate.x_max for plate in shape.plates]
    edges += [bar.x_max for bar in shape.assembly.bars]
    edges += [abs(m.x_max) for m in shape.assembly.magnets if isinstance(m, MagnetBox)]
    return _mm(max(edges)) + 1.0


# ---------------------------------------------------------------- from above


def _top(guitar: Guitar, pickup: Pickup, shape: Anatomy) -> str:
    half = _half_width(shape)
    reach = [abs(coil.y) + coil.outer_half_y for coil in shape.coils] + [plate.y_max for plate in shape.plates]
    reach += [m.y_max for m in shape.assembly.magnets if isinstance(m, MagnetBox)]
    reach += [bar.y_max for bar in shape.assembly.bars]
    tall = _mm(max(reach)) + 1.0
    pieces = []
    for plate in shape.sheets:
        pieces.append(
            svg.rectangle(
                _mm(plate.x_min),
                -_mm(plate.y_max),
                _mm(plate.x_max - plate.x_min),
                2 * _mm(plate.y_max),
                "plate thin",
                1.0,
            )
        )
    pieces += [_steel_from_above(bar) for bar in shape.assembly.bars if bar.role == "plate"]
    for magnet in shape.assembly.magnets:
        if isinstance(magnet, MagnetBox):
            pieces += _bar_from_above(magnet)
    for coil in shape.coils:
        pieces.append(_racetrack(coil))
    pieces += [_steel_from_above(bar) for bar in shape.assembly.bars if bar.role != "plate"]
    for rod in shape.assembly.rods:
        radius = _mm(rod.sections[-1].radius)
        pieces.append(svg.tag("circle", cx=_mm(rod.x), cy=-_mm(rod.y), r=radius, cls="steel"))
        if len(rod.sections) > 1:
            pieces.append(
                svg.line(_mm(rod.x) - 0.7 * radius, -_mm(rod.y), _mm(rod.x) + 0.7 * radius, -_mm(rod.y), "slot")
            )
    for magnet in shape.assembly.magnets:
        if isinstance(magnet, MagnetRod):
            cls = "north" if magnet.sign > 0 else "south"
            pieces.append(svg.tag("circle", cx=_mm(magnet.x), cy=-_mm(magnet.y), r=_mm(magnet.radius), cls=cls))
    y, _ = string_places(guitar, pickup)
    for k, place in enumerate(y):
        diameter = max(_mm(guitar.strings[k].diameter), 0.3)
        pieces.append(
            svg.rectangle(-half - 1.0, -_mm(float(place)) - 0.5 * diameter, 2 * half + 2.0, diameter, "string")
        )
        pieces.append(svg.label(half + 1.4, -_mm(float(place)) + 0.36 * TEXT, str(k + 1), "note", "start"))
    way = pickup.screws_face if pickup.built.can_face else "neck"
    other = "bridge" if way == "neck" else "neck"
    pieces.append(svg.label(-half - 1.0, tall + TEXT + 0.4, f"← {way}", "note", "start"))
    pieces.append(svg.label(half + 1.0, tall + TEXT + 0.4, f"{other} →", "note", "end"))
    box = (-half - MARGIN, -tall - 1.0, 2 * half + 2 * MARGIN, 2 * tall + TEXT + 3.0)
    return _frame(pieces, box, f"{pickup.name} pickup from above, string 1 at the top")


def _steel_from_above(bar: SteelBar) -> str:
    wide, tall = _mm(bar.x_max - bar.x_min), _mm(bar.y_max - bar.y_min)
    return svg.rectangle(_mm(bar.x_min), -_mm(bar.y_max), wide, tall, "steel thin")


def _bar_from_above(magnet: MagnetBox) -> list[str]:
    x0, x1, tall = _mm(magnet.x_min), _mm(magnet.x_max), _mm(magnet.y_max - magnet.y_min)
    top = -_mm(magnet.y_max)
    if magnet.easy != 0:
        return [svg.rectangle(x0, top, x1 - x0, tall, "north" if magnet.sign > 0 else "south")]
    left, right = ("south", "north") if magnet.sign > 0 else ("north", "south")
    middle = 0.5 * (x0 + x1)
    return [svg.rectangle(x0, top, middle - x0, tall, left), svg.rectangle(middle, top, x1 - middle, tall, right)]


def _racetrack(coil: "object") -> str:
    names = ("x", "y", "inner_half_x", "inner_half_y", "outer_half_x", "outer_half_y")
    x, y, ix, iy, ox, oy = (_mm(getattr(coil, name)) for name in names)
    n = svg.number
    ring = f"M{n(x - ox)} {n(-y - oy)}h{n(2 * ox)}v{n(2 * oy)}h{n(-2 * ox)}z"
    hole = f"M{n(x - ix)} {n(-y - iy)}v{n(2 * iy)}h{n(2 * ix)}v{n(-2 * iy)}z"
    return svg.tag("path", d=ring + hole, cls="coil thin", fill_rule="evenodd")


def _scale_bar(x: float, y: float) -> str:
    ends = "".join(svg.line(one, y - 0.7, one, y + 0.7, "rule") for one in (x, x + 10.0))
    return svg.line(x, y, x + 10.0, y, "rule") + ends + svg.label(x + 11.0, y + 0.36 * TEXT, "10 mm", "note", "start")


def _frame(pieces: list[str], box: tuple[float, float, float, float], title: str) -> str:
    shown = " ".join(svg.number(one) for one in box)
    name = svg.tag("title", title)
    return svg.element(
        "svg", [name, *pieces], viewBox=shown, role="img", cls="drawing", style=f"--w:{svg.number(box[2])}"
    )
