"""What every worker is told once: the guitar, what is varied, how finely it is computed, and what the rows hold."""

from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.guitar import Guitar, with_value
from polepiece.moves import apply, parse_changes
from polepiece.study.axis import AS_IS, Axis

Values = tuple[float | str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """One study without its design; it travels to the workers."""

    guitar: Guitar
    pickup: str
    position: str
    axes: tuple[Axis, ...]
    seed: int = 0
    draws: int = 0  # rows of a candidate besides the nominal one
    coarse: bool = False
    version: str = ""  # of the program, and of its constants: a worker that has others refuses
    constants: str = ""

    @property
    def rows(self) -> int:
        """Rows of one candidate."""
        return 1 + self.draws

    def filed(self, values: Values) -> Guitar:
        """Return the guitar with the values of its file; those of levers are not looked at.

        Raises
        ------
        InputError
            When the file would be refused with them.
        """
        guitar = self.guitar
        for axis, value in zip(self.axes, values):
            if axis.is_path and value not in AS_IS:
                moved = with_value(guitar, axis.key, value)
                if moved is None:
                    raise InputError(f"{axis.key} = {value}: the guitar file is refused with it.")
                guitar = moved
        return guitar

    def moved(self, guitar: Guitar, values: Values) -> Guitar:
        """Return the guitar after the levers.

        Raises
        ------
        InputError
            When a change cannot be made there.
        """
        texts = [axis.lever_text(one) for axis, one in zip(self.axes, values) if not axis.is_path]
        return apply(guitar, self.pickup, parse_changes(one for one in texts if one), allow_rods=True)
