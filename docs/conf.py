"""The documentation as a site: ``make docs``. Nothing is fetched while it is built, and nothing when it is read.

Warnings are errors, there and in `tests/docs/`. Commands, rooms and the papers at the repository's root are made into
pages while the site is built (`extensions/made_pages.py`); a new file in `how-to/`, `reference/`, `theory/` or
`explanation/` is taken up by itself.
"""

import sys
from pathlib import Path

from polepiece import __version__

sys.path.insert(0, str(Path(__file__).parent / "extensions"))

project = "polepiece"
author = "the authors of polepiece"
copyright = "the authors of polepiece, MIT licence"
release = version = __version__

extensions = ["myst_parser", "made_pages", "outside_links", "maths"]
exclude_patterns = ["extensions"]
nitpicky = True
highlight_language = "text"
smartquotes = False  # what is typed is copied from here

myst_heading_anchors = 4
myst_enable_extensions = ["dollarmath", "deflist"]
html_math_renderer = "mathml"  # drawn by the browser itself: no script, no font of another machine

html_theme = "furo"
html_title = f"polepiece {release}"
html_static_path = ["extensions/site.css"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
html_use_index = False
html_domain_indices = False
