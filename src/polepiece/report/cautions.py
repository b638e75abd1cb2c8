"""What can hurt people and guitars, and when to stop; common practice, no source.

Each note has a key, so that a sheet for one job carries those that concern it and no others; `CAUTIONS` has all.
"""

from collections.abc import Iterable

NOTES: dict[str, str] = {
    "amplifier": "Amplifier off and unplugged from the guitar; never open the amplifier.",
    "strings": (
        "Eye protection for strings and cut leads; slacken strings evenly, block a floating bridge, cover "
        "the finish (some tapes lift lacquer)."
    ),
    "magnets": (
        "Magnets pinch and chip (ferrite and neodymium most), and disturb pacemakers and other implants, "
        "cards, hard drives, watches. One bar at a time; no steel filings or steel wool near a pickup; "
        "large magnetising blocks only apart and in fixtures."
    ),
    "solder": (
        "Solder burns, fumes, lead: ventilate, wash hands, no food. Short dwell: old bobbins soften near "
        "70-80 °C, and coil wire is as thin as a hair."
    ),
    "wax": (
        "Wax: a double boiler with thermostat at 60-65 °C, no naked flame, lid at hand, never water on burning wax."
    ),
}
STOPS: dict[str, str] = {
    "resistance": (
        "the DC resistance changes by more than 2 % at the same temperature, or coil to base plate is not open;"
    ),
    "force": "a screw or bar needs force, a bar chips, or the cover moves the coil;",
    "consent": (
        "the part is old or valuable and its owner has not agreed in writing to unsoldering, re-waxing or recharging."
    ),
}
CHECK_OUT = (
    "DC resistance, isolation of the coils, polarity, phase with both pickups on, split, hum, squeal "
    "at gain, gap pressed at the last fret, intonation. Playback level low first."
)
CAUTIONS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Before and during work", tuple(NOTES.values())),
    ("Stop when", tuple(STOPS.values())),
    ("Check out", (CHECK_OUT,)),
)
DEFER = (
    "These notes are general and no instruction for your case: defer to local codes and to licensed "
    "or qualified people, above all for mains-powered equipment and for anything that you are not "
    "sure of."
)
PLAYBACK = "Turn the playback level down before you press play, then up. Judge without knowing which is which."


def notes_for(keys: Iterable[str]) -> tuple[str, ...]:
    """Return the notes of these keys, in the order of `NOTES`."""
    wanted = set(keys)
    return tuple(text for key, text in NOTES.items() if key in wanted)
