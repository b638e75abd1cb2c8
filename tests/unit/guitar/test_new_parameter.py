"""The example of CONTRIBUTING.md: one line in a record, and file, schema, assumptions and check know the parameter."""

import tomllib
from dataclasses import dataclass, replace

import jsonschema
import pytest

from polepiece.errors import GuitarFileError, InputError
from polepiece.guitar import Guitar, defaults, guitar_schema, parse_guitar, write_guitar
from polepiece.guitar.assumption import defaults_of
from polepiece.guitar.coil import Coil
from polepiece.guitar.file import layout
from polepiece.guitar.file import pickup as pickup_file
from polepiece.guitar.parameter import mm, parameters_of

SHORTEST = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "bar-single"\n'


@dataclass(frozen=True, slots=True, kw_only=True)
class Bobbin(Coil):
    """A coil with one more line."""

    flange: float = mm(0.8, 0.3, 3, "flanges lie", "thickness of the bobbin's flanges", spread=(0.5, 1.5))


@pytest.fixture(autouse=True)
def one_more_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(layout, "COIL_KEYS", parameters_of(Bobbin))
    monkeypatch.setattr(pickup_file, "Coil", Bobbin)
    monkeypatch.setattr(defaults, "USUAL", defaults.USUAL | defaults_of(parameters_of(Bobbin, "coil.")))


def flange(guitar: Guitar) -> float:
    (coil,) = guitar.pickups[0].coils
    assert isinstance(coil, Bobbin)
    return coil.flange


def test_it_is_read_in_every_unit_and_written():
    for line in ("flange = 1.5", "flange_mm = 1.5", 'flange = "1,5 mm"', "flange_m = 0.0015"):
        guitar = parse_guitar(f"{SHORTEST}[pickups.coil]\n{line}\n")
        assert flange(guitar) == 1.5e-3
    assert "flange = 1.5 " in write_guitar(guitar) and parse_guitar(write_guitar(guitar)) == guitar
    assert "flange = 0.8" in write_guitar(replace(parse_guitar(SHORTEST), assumed=()))


def test_silence_is_listed():
    guitar = parse_guitar(SHORTEST)
    (line,) = [one for one in guitar.assumed if one.path == "pickups[0].coil.flange"]
    assert (line.value, line.low, line.high, line.settle) == ("0.8 mm", 0.5, 1.5, "plastic or brass caliper")
    assert flange(guitar) == Bobbin().flange == 0.8e-3


def test_it_is_refused_by_the_file_the_schema_and_the_record():
    text = f"{SHORTEST}[pickups.coil]\nflange = 8\n"
    with pytest.raises(GuitarFileError, match=r"coil\.flange is 8 mm; flanges lie between 0\.3 and 3 mm"):
        parse_guitar(text)
    assert not jsonschema.Draft202012Validator(guitar_schema()).is_valid(tomllib.loads(text))
    with pytest.raises(InputError, match=r"flange is 8 mm; flanges lie between 0\.3 and 3 mm"):
        Bobbin(flange=8e-3)
    with pytest.raises(GuitarFileError, match="flang is not a key of this table; the nearest key is flange"):
        parse_guitar(text.replace("flange", "flang"))
