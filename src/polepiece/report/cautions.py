"""What can hurt people and guitars, and when to stop; common practice, no source."""

CAUTIONS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Before and during work",
        (
            "Amplifier off and unplugged from the guitar; never open the amplifier.",
            "Eye protection for strings and cut leads; slacken strings evenly, block a floating bridge, cover "
            "the finish (some tapes lift lacquer).",
            "Magnets pinch and chip (ferrite and neodymium most), and disturb pacemakers and other implants, "
            "cards, hard drives, watches. One bar at a time; no steel filings or steel wool near a pickup; "
            "large magnetising blocks only apart and in fixtures.",
            "Solder burns, fumes, lead: ventilate, wash hands, no food. Short dwell: old bobbins soften near "
            "70-80 degC, and coil wire is as thin as a hair.",
            "Wax: a double boiler with thermostat at 60-65 degC, no naked flame, lid at hand, never water on "
            "burning wax.",
        ),
    ),
    (
        "Stop when",
        (
            "the DC resistance changes by more than 2 % at the same temperature, or coil to base plate is not open;",
            "a screw or bar needs force, a bar chips, or the cover moves the coil;",
            "the part is old or valuable and its owner has not agreed in writing to unsoldering, re-waxing or "
            "recharging.",
        ),
    ),
    (
        "Check out",
        (
            "DC resistance, isolation of the coils, polarity, phase with both pickups on, split, hum, squeal "
            "at gain, gap pressed at the last fret, intonation. Playback level low first.",
        ),
    ),
)
DEFER = (
    "These notes are general and no instruction for your case: defer to local codes and to licensed "
    "or qualified people, above all for mains-powered equipment and for anything that you are not "
    "sure of."
)
PLAYBACK = "Turn the playback level down before you press play, then up. Judge without knowing which is which."
