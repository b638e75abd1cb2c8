"""What a job owes, in a line: the day it is promised for, what was quoted."""

from datetime import date

from polepiece.notebook import JobEntry


def ordered_words(job: JobEntry, today: date) -> str:
    """Return day and sum of a job in words, with a space before them; nothing where neither was said."""
    found = []
    if job.promised is not None:
        late = ", which is over" if job.promised < today else ""
        found.append(f"Promised for {job.promised}{late}.")
    if job.quote is not None:
        found.append(f"Quoted: {job.quote['total']} {job.quote['currency']}.")
    return "".join(f" {one}" for one in found)
