"""Whether measured rows keep their limits: row by row, and by construction."""

from collections.abc import Iterable, Mapping

Row = Mapping[str, object]
UNITS = {"seconds": "s", "times_real_time": "x real time", "times_as_long": "x as long", "gibibytes": "GiB"}
AT_LEAST = ("times_real_time",)  # more is better; of all others less
ERRORS = (("error", "error_limit"), ("error_across", "error_across_limit"))
OTHERS = "whole program"  # rows of no construction


def measured(row: Row) -> tuple[str, float]:
    """Return what a row measures and its figure."""
    key = next(key for key in UNITS if key in row)
    return key, float(row[key])  # type: ignore[arg-type]


def missed(row: Row) -> list[str]:
    """Return every limit that a row does not keep, in words; none for a row without limits."""
    out = []
    key, value = measured(row)
    limit = row.get("limit")
    if limit is not None:
        kept = value >= float(limit) if key in AT_LEAST else value <= float(limit)  # type: ignore[arg-type]
        if not kept:
            out.append(f"{value:.3g} {UNITS[key]}, limit {limit}")
    for name, bound in ERRORS:
        # written so that an error that is no number is missed too
        if row.get(name) is not None and row.get(bound) is not None and not row[name] <= row[bound]:  # type: ignore[operator]
            out.append(f"{name.replace('_', ' ')} {row[name]:.2g}, limit {row[bound]:.2g}")
    return out


def has_limits(row: Row) -> bool:
    """Return whether a row has any limit."""
    return any(row.get(key) is not None for key in ("limit", *(bound for _, bound in ERRORS)))


def judged(rows: Iterable[Row]) -> list[dict[str, object]]:
    """Return the rows with ``holds``: True, False, or None where there is no limit."""
    return [{**row, "holds": not missed(row) if has_limits(row) else None} for row in rows]


def by_construction(rows: Iterable[Row]) -> dict[str, dict[str, object]]:
    """Return, of each construction, whether all limits hold, how many there are, and which rows miss one."""
    out: dict[str, dict[str, object]] = {}
    for row in rows:
        if not has_limits(row):
            continue
        found = out.setdefault(str(row.get("construction", OTHERS)), {"holds": True, "limits": 0, "missed": []})
        found["limits"] = int(found["limits"]) + 1  # type: ignore[call-overload]
        wrong = missed(row)
        if wrong:
            found["holds"] = False
            found["missed"].append(f"{row['name']}: {'; '.join(wrong)}")  # type: ignore[attr-defined]
    return out


def summary(found: Mapping[str, Mapping[str, object]]) -> str:
    """Return the verdicts in lines."""
    lines = []
    for name, one in found.items():
        lines.append(f"{'holds ' if one['holds'] else 'MISSED'} {name} ({one['limits']} rows with limits)")
        lines += [f"       {text}" for text in one["missed"]]  # type: ignore[attr-defined]
    return "\n".join(lines)
