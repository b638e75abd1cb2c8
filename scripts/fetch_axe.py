"""Fetch the accessibility checker axe-core for the tests of the page, once, checked against its digest.

    python scripts/fetch_axe.py

It is a tool of the tests (licence MPL-2.0), kept out of the repository and of the wheel: `.pytest_cache/axe/`.
"""

import base64
import hashlib
import io
import os
import sys
import tarfile
import urllib.request
from pathlib import Path

ADDRESS = "https://registry.npmjs.org/axe-core/-/axe-core-4.14.1.tgz"
DIGEST = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="  # sha512
PLACE = Path(__file__).parents[1] / ".pytest_cache" / "axe" / "axe.min.js"


def fetch(place: Path = PLACE) -> Path:
    """Return where the script is; fetch it when it is not there.

    Raises
    ------
    OSError
        When the registry cannot be reached.
    ValueError
        When what comes is not what was expected.
    """
    if place.is_file():
        return place
    with urllib.request.urlopen(ADDRESS, timeout=60) as answer:
        packed = answer.read()
    if base64.b64encode(hashlib.sha512(packed).digest()).decode() != DIGEST:
        raise ValueError(f"{ADDRESS} is not the archive that was expected; it is not used.")
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        member = archive.extractfile("package/axe.min.js")
        if member is None:
            raise ValueError("the archive holds no axe.min.js")
        script = member.read()
    place.parent.mkdir(parents=True, exist_ok=True)
    new = place.with_suffix(f".{os.getpid()}")
    new.write_bytes(script)
    new.replace(place)
    return place


if __name__ == "__main__":
    print(fetch())
    sys.exit(0)
