"""Reports that anyone can open: one HTML file, no outside request; work sheets as HTML and PDF."""

from polepiece.report.curves import Curve, chart, curves_csv
from polepiece.report.drawing import pickup_drawing
from polepiece.report.grade_sheet import grade_sheet_page
from polepiece.report.page import Case, guitar_report
from polepiece.report.worksheet import work_sheet
from polepiece.report.worksheet_page import expected_text, range_text, worksheet_html, worksheet_pdf
from polepiece.report.worksheet_record import WorkSheet, worksheet_json

__all__ = [
    "Case",
    "Curve",
    "WorkSheet",
    "chart",
    "curves_csv",
    "expected_text",
    "grade_sheet_page",
    "guitar_report",
    "pickup_drawing",
    "range_text",
    "work_sheet",
    "worksheet_html",
    "worksheet_json",
    "worksheet_pdf",
]
