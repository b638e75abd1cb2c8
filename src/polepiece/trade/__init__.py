"""What the trade says of magnets, beside what is computed."""

from polepiece.trade.cures import cures_of
from polepiece.trade.judged import JudgedCell
from polepiece.trade.parted import not_found
from polepiece.trade.verdicts import trade_body, trade_verdicts
