"""What a rendered performance has beside strings that are let go: one switch each, the same for every state compared.

Nothing here differs between before and after but through the pickup: the hand, its noise and the strings are the same.
"""

from dataclasses import dataclass, fields, replace

from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Realism:
    """Switches of a rendering.

    Attributes
    ----------
    glide : the pitch of a hard stroke falls as its swing dies (`polepiece.sound.glide`).
    noise : plectrum on the string before it lets go, and the fretting finger that leaves (`contact_noise`).
    sympathetic : strings at rest that the bridge sets in motion (`sympathetic`). Off by default: it costs up to two
        fifths of the speed, and many players damp those strings.
    """

    glide: bool = True
    noise: bool = True
    sympathetic: bool = False

    def without(self, words: str) -> "Realism":
        """Return the switches with those of ``words`` (``"glide,noise"``, or ``"all"``) off.

        Raises
        ------
        InputError
            When there is no such switch.
        """
        names = [one.name for one in fields(Realism)]
        off = [one for word in words.split(",") if (one := word.strip())]
        wrong = [one for one in off if one not in (*names, "all")]
        if wrong:
            raise InputError(f"there is nothing called {wrong[0]!r} to leave out; there are {', '.join(names)}, all.")
        return replace(self, **dict.fromkeys(names if "all" in off else off, False))


LIVELY = Realism()
BARE = Realism(glide=False, noise=False, sympathetic=False)
