"""Reports that anyone can open: one HTML file, no outside request."""

from polepiece.report.curves import Curve, chart, curves_csv
from polepiece.report.drawing import pickup_drawing
from polepiece.report.page import Case, guitar_report

__all__ = ["Case", "Curve", "chart", "curves_csv", "guitar_report", "pickup_drawing"]
