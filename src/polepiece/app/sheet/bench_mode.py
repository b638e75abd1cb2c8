"""The work sheet at the bench: one step a screen, large ticks, back and next at a fixed place.

The sheet is not built again: ``bench_mode.js`` shows one ``.bench-screen`` inside ``.sheet-body`` at a time, and begins
at the first step that is not ticked.
"""

from nicegui import ui


class BenchMode(ui.element, component="bench_mode.js"):
    """The button that begins it, and the bar while it is on."""
