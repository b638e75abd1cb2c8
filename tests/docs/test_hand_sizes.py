"""The table of the hand's sizes in docs/theory/strings-and-sound.md says what the code has."""

from pathlib import Path

from polepiece.sound import techniques as hand

PAGE = (Path(__file__).parents[2] / "docs" / "theory" / "strings-and-sound.md").read_text(encoding="utf-8")


def test_sizes_of_the_hand_are_those_of_the_code() -> None:
    soft, medium, hard = (1e3 * hand.DISPLACEMENT[one] for one in ("soft", "medium", "hard"))
    node, scratch = hand.harmonic_at(12), hand.scratched(1e-3)[1]
    hammer, pull = hand.hammered(1e-3, 5), hand.pulled(1e-3, 5)
    rows = (
        f"| plectrum, medium | {1e3 * hand.PLECTRUM_WIDTH:g} mm wide, lets go in {1e3 * hand.PLECTRUM_RELEASE:g} ms |",
        f"| stroke: soft, medium, hard | {soft:g}, {medium:g}, {hard:g} mm |",
        f"| hammer-on | {1e3 * hammer.displacement:g} of the stroke, finger {1e3 * hammer.width:g} mm wide, "
        f"{1e3 * hammer.release:g} ms |",
        f"| pull-off | {1e3 * pull.displacement:g} of the stroke, {1e3 * pull.width:g} mm wide, "
        f"{1e3 * pull.release:g} ms |",
        f"as long as it sounds | {1e3 * node.width:g} mm wide, {node.resistance:g} N s/m |",
        f"| hand on a scratched string | {1e3 * scratch.width:g} mm wide, {scratch.resistance:g} N s/m |",
        f"{hand.SLIDE_S:g} s from fret to fret; {hand.VIBRATO_HZ:g} Hz, {hand.VIBRATO_SEMITONES:g} semitone |",
    )
    missing = [one for one in rows if one not in PAGE]
    assert not missing, missing
