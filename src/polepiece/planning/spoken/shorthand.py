"""Short forms as a bench or a player writes them: "br pu", "6th str", "w/", "doesn't"; each to plain words.

Common practice, no source. What is written short is put into words before anything else looks at it, so that every
other table knows one form only.
"""

import re

CONTRACTED = {
    "can't": "can not", "cannot": "can not", "won't": "will not", "shan't": "shall not", "ain't": "is not",
    "gonna": "going to", "wanna": "want to", "cuz": "because", "bc": "because",
    "isnt": "is not", "doesnt": "does not", "dont": "do not", "arent": "are not", "hasnt": "has not", "cant": "can not",
    "wont": "will not", "wasnt": "was not", "didnt": "did not", "shouldnt": "should not", "couldnt": "could not",
    "haven't": "have not", "theres": "there is", "thats": "that is", "im": "i am", "ive": "i have",
    "nothing's": "nothing is", "p'up": "pickup", "p'ups": "pickups",
}  # fmt: skip
ABBREVIATED = {  # with or without a full stop behind it
    "pu": "pickup", "pup": "pickup", "pus": "pickups", "pups": "pickups", "hb": "humbucker pickup", "hbs": "humbuckers",
    "nk": "neck", "nck": "neck", "br": "bridge", "brg": "bridge", "brdg": "bridge", "bdg": "bridge", "frt": "front",
    "str": "string", "strs": "strings", "vol": "volume", "vols": "volumes", "cust": "customer", "gtr": "guitar",
    "git": "guitar", "gits": "guitars", "sust": "sustain", "sw": "switch", "ctrl": "control", "ctrls": "controls",
    "esp": "especially", "orig": "original", "dn": "down", "lo": "low", "pls": "please", "plz": "please",
    "thru": "through", "prob": "problem", "probs": "problems", "trem": "tremolo", "amt": "amount", "fdbk": "feedback",
    "intermit": "intermittent", "w": "with", "wo": "without", "yrs": "years", "mins": "minutes", "sec": "seconds",
    "secs": "seconds", "approx": "about", "pos": "position", "posn": "position", "mag": "magnet", "mags": "magnets",
    "btw": "between", "bet": "between", "ea": "each", "hrs": "hours", "xtra": "extra", "tho": "though",
}  # fmt: skip
_SOUND = (
    r"(?:bass|lows?|low end|bottom|treble|trebles|highs?|high end|top|top end|mids?|output|level|vol|volume|presence"
    r"|sustain|attack|gain|bite|punch|sparkle|brightness|warmth|clarity|body)\b"
)
_SIGNS = tuple(
    (re.compile(pattern), words)
    for pattern, words in (
        (rf"(?:(?<=^)|(?<=[,;:.&]))\s*\+\s*(?={_SOUND})", " more "),
        (rf"(?:(?<=^)|(?<=[,;:.&]))\s*[‐-―-]\s*(?={_SOUND})", " less "),
        (r"\s*[-=]+>\s*|\s*→\s*", " , "),
        (r"\s<\s*(?:vol|volume)\b\.?", " with volume below "),
        (r"\bw/o\b", " without "), (r"\bw/", " with "), (r"\bp/u", "pickup"), (r"\bo/p\b", "output"),
        (r"\be\.g\.", "such as"), (r"&", " and "), (r"\s@\s", " at "),
        (r"\bhi(?= (?:[eb]\b|gain|end|str|strings?))", "high"), (r"\b(?<=th )fr\b", "fret"),
        (r"\b(?:in|out|into|off) ?(?:of )?ph\b\.?", "out of phase"),
        (r"\b(?:e1|b2|g3|d4|a5|e6)\b(?= (?:string|str|and (?:e1|b2|g3|d4|e6)))|\b(?<=and )(?:e1|b2|g3|d4|e6)\b",
         lambda found: f"string {found[0][1]}"),
        (r"\ba([2-8])\b(?=(?:\s*(?:\+|/|,|and|or)\s*(?:an? )?a[2-8]\b)*\s+(?:bars?|magnets?|mags?)\b)", r"alnico \1"),
        (r"\bmid(?= (?:pu|pup|pickup|single|coil)\b)", "middle"),
    )
)  # fmt: skip
_STOPPED = re.compile(rf"\b({'|'.join(ABBREVIATED)})\.(?=[\s,;:]|$)")


def without_signs(text: str) -> str:
    """Return a text in lower case with its signs and stopped abbreviations in words: "+ mids" is "more mids"."""
    for pattern, words in _SIGNS:
        text = pattern.sub(words, text)
    return _STOPPED.sub(r"\1", text)
