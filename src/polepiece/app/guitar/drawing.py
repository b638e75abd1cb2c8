"""The pickup under its strings, seen along them and to scale, with handles: body at both ends, every pole screw.

Drawn by ``drawing.js`` from the very shapes that are computed. The strings stay where they are; the body and its screws
move. Lengths in mm. One always looks from the bridge, so the thin string (1) is always on the right; screws that face
the neck are on the far side then, and are drawn through what is in front of them.
"""

from collections.abc import Awaitable, Callable
from typing import Any

from nicegui import ui

from polepiece.bench import State
from polepiece.geometry import MagnetBox, MagnetRod
from polepiece.guitar import Guitar, Pickup, drawn_pole_tops
from polepiece.pickup import Anatomy, anatomy, string_places

STEP_MM = 0.1
MM_PER_MT = 0.28  # length of a field mark
EDGE, MARGIN = 6.0, 5.0  # mm beside the body: to the handles and gaps, and to the border of the view
LOOSE_TURNS = 3  # a screw goes no higher: the same limit as `screw=up ...`

OnMove = Callable[[str, float, bool], Awaitable[None]]


class Drawing(ui.element, component="drawing.js"):
    """The view along the strings.

    Parameters
    ----------
    on_move : callable
        Called with what is moved ("bass", "treble", or "screw1" ...), where it is now (gap in mm; a screw's height
        above the drawn one in mm) and whether the handle was let go.
    """

    def __init__(self, on_move: OnMove) -> None:
        super().__init__()
        self._on_move = on_move
        self.props["scene"], self.props["version"] = {}, 0
        self.on("move", self._moved)

    def show(self, guitar: Guitar, pickup: str, state: "State | None") -> None:
        """Draw a pickup; ``state`` brings the field over every string."""
        self.show_scene(scene(guitar, pickup, state))

    def show_scene(self, seen: dict[str, Any]) -> None:
        """Draw what `scene` has returned."""
        self.props["scene"] = seen
        self.props["version"] += 1
        self.update()

    async def _moved(self, event: Any) -> None:
        what, value, let_go = str(event.args["what"]), float(event.args["value"]), bool(event.args["done"])
        await self._on_move(what, value, let_go)


def scene(guitar: Guitar, pickup: str, state: "State | None") -> dict[str, Any]:
    """Return everything that is drawn, plain values in mm."""
    the_pickup = guitar.pickup(pickup)
    shape = anatomy(the_pickup)
    y, _ = string_places(guitar, the_pickup)
    tops = drawn_pole_tops(the_pickup)  # where gaps are counted from
    field = [None] * len(y) if state is None else [round(float(one), 1) for one in state.field_mt]
    strings = [{"u": _mm(y[k]), "d": _mm(one.diameter), "field": field[k]} for k, one in enumerate(guitar.strings)]
    turn = round(1e3 * the_pickup.poles.screw_pitch, 6)  # mm; an eighth is one press of a key
    return {
        "strings": strings, "body": _body(the_pickup, shape), "screws": _screws(the_pickup),
        "tops": [_mm(tops[0]), _mm(tops[-1])], "far": _far_screws(the_pickup), "far_side": far_side(the_pickup),
        "ends": [_mm(shape.pole_y[0]), _mm(shape.pole_y[-1])], "bass": round(_mm(the_pickup.gap_bass), 3),
        "treble": round(_mm(the_pickup.gap_treble), 3), "step": STEP_MM,
        "eighth": turn / 8.0, "turn": turn,
        "loose": LOOSE_TURNS * turn, "scale": MM_PER_MT, "low": round(_lowest(shape), 2),
        "half": round(_half(shape), 2), "edge": EDGE, "margin": MARGIN, "words": described(the_pickup, len(strings)),
    }  # fmt: skip


def share_of_width(scene: dict[str, Any], u: float) -> float:
    """Return where a place of the view is, as a share of its width from the left; `drawing.js` draws it so."""
    half = float(scene["half"]) + EDGE + MARGIN
    return (u + half) / (2.0 * half)


def _far_screws(pickup: Pickup) -> bool:
    """Tell whether the screws are on the side one does not look from: where they face the neck."""
    return pickup.built.screws_on_one_side and pickup.screws_face == "neck"


def far_side(pickup: Pickup) -> str:
    """Return what is on the side one does not look from: "screws are on the far side", the first of two rows."""
    return f"{pickup.built.what_faces} are on the far side"


def described(pickup: Pickup, strings: int) -> str:
    """Return what the view shows, in words."""
    far = f"; its {far_side(pickup)}" if _far_screws(pickup) else ""
    return (
        f"The {pickup.name} pickup under its {strings} strings, seen along the strings from the bridge{far}. Gap "
        f"{1e3 * pickup.gap_bass:.2f} mm bass, {1e3 * pickup.gap_treble:.2f} mm treble, pressed at the last fret."
    )


def _mm(metres: float) -> float:
    return round(1e3 * float(metres), 4)


def _box(kind: str, low_y: float, high_y: float, low: float, high: float, **more: Any) -> dict[str, Any]:
    return {
        "kind": kind, "u": _mm(low_y), "w": _mm(high_y - low_y), "z": _mm(low), "h": _mm(high - low), **more,
    }  # fmt: skip


def _body(pickup: Pickup, shape: Anatomy) -> list[dict[str, Any]]:
    """Boxes from the back to the front, as they hide one another."""
    out: list[dict[str, Any]] = []
    sheets = list(zip([one for one in (pickup.base_plate, pickup.cover) if one is not None], shape.plates))
    for sheet, plate in sheets:
        if sheet is pickup.base_plate:
            thick = max(plate.thickness, 0.4e-3)
            out.append(_box("plate", plate.y_min, plate.y_max, plate.z - thick / 2, plate.z + thick / 2))
    for rod in shape.assembly.rods:
        if rod.part != "screws":
            out += [_box("steel", rod.y - one.radius, rod.y + one.radius, one.bottom, one.top) for one in rod.sections]
    for magnet in shape.assembly.magnets:
        if isinstance(magnet, MagnetBox):
            out.append(_bar(magnet, from_screws=pickup.built.screws_on_one_side and not _far_screws(pickup)))
        else:
            out += _rod(magnet)
    for bar in shape.assembly.bars:
        out.append(_box("steel thin", bar.y_min, bar.y_max, bar.z_min, bar.z_max))
    for coil in {one.y: one for one in shape.coils}.values():  # of two beside one another the front one
        out.append(_box("coil", coil.y - coil.outer_half_y, coil.y + coil.outer_half_y, coil.bottom, coil.top))
    for sheet, plate in sheets:
        if sheet is pickup.cover:
            out.append(_box("cover", plate.y_min, plate.y_max, plate.z - max(plate.skirt, 0.4e-3), plate.z))
    return out


def _bar(magnet: MagnetBox, *, from_screws: bool) -> dict[str, Any]:
    """A bar from the side: its face towards who looks (screws are at -x), or both poles one above the other."""
    up = ("N", "S") if magnet.sign > 0 else ("S", "N")  # of the face at the positive end of its easy axis first
    box = _box("magnet", magnet.y_min, magnet.y_max, magnet.z_min, magnet.z_max)
    if magnet.easy == 2:
        return box | {"top": up[0], "pole": up[1]}
    return box | {"pole": up[1] if from_screws else up[0]}


def _rod(magnet: MagnetRod) -> list[dict[str, Any]]:
    north = magnet.sign > 0
    return [_box("magnet", magnet.y - magnet.radius, magnet.y + magnet.radius, magnet.bottom, magnet.top,
                 top="N" if north else "S", pole="S" if north else "N")]  # fmt: skip


def _screws(pickup: Pickup) -> list[dict[str, float]]:
    if not pickup.built.has_screws:
        return []
    poles = pickup.poles
    middle = 0.5 * (poles.count - 1)
    return [
        {
            "u": _mm((middle - k) * poles.pole_spacing), "bottom": _mm(poles.screw_bottom), "top": _mm(poles.screw_top),
            "r": _mm(0.5 * poles.screw_diameter), "head": _mm(0.5 * poles.head_diameter),
            "headHeight": _mm(poles.head_height), "up": round(_mm(poles.screw_raise[k]), 4),
        }
        for k in range(poles.count)
    ]  # fmt: skip


def _lowest(shape: Anatomy) -> float:
    bottoms = [section.bottom for rod in shape.assembly.rods for section in rod.sections]
    bottoms += [bar.z_min for bar in shape.assembly.bars]
    bottoms += [plate.z - 0.5 * plate.thickness for plate in shape.plates if plate.z < 0]
    return _mm(min([0.0, *bottoms]))


def _half(shape: Anatomy) -> float:
    reach = [abs(coil.y) + coil.outer_half_y for coil in shape.coils] + [plate.y_max for plate in shape.plates]
    reach += [m.y_max for m in shape.assembly.magnets if isinstance(m, MagnetBox)]
    reach += [bar.y_max for bar in shape.assembly.bars]
    return _mm(max(reach))
