"""Reports that anyone can open: one HTML file, no outside request; work sheets as HTML and PDF."""

from polepiece.report.batch_drawing import batch_drawing
from polepiece.report.curves import MOST_CURVES, Curve, chart, csv_text, curves_csv
from polepiece.report.drawing import construction_drawing, pickup_drawing
from polepiece.report.grade_sheet import grade_sheet_page
from polepiece.report.ledger_page import LedgerRow, ledger_csv, ledger_page, ledger_rows
from polepiece.report.page import Case, guitar_report
from polepiece.report.printed import Printed, PrintedTable, printed_csv, printed_html, printed_pdf
from polepiece.report.worksheet.page import (
    PAPERS,
    Paper,
    Part,
    effect_texts,
    expected_text,
    fit_texts,
    range_text,
    trial_texts,
    worksheet_html,
    worksheet_pdf,
)
from polepiece.report.worksheet.readings import SAME_DC
from polepiece.report.worksheet.record import Blank, Section, Step, WorkSheet, worksheet_json
from polepiece.report.worksheet.sheet import with_head, work_sheet
