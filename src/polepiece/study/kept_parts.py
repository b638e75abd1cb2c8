"""Finished chunks on disk, one Parquet file each, and the one table that is made of them in the end.

A part is written beside its place, flushed and renamed, under the number of its chunk: after a kill it is there whole
or not at all, and a second time it replaces itself. The table is made the same way, so it is whole as well.
"""

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from polepiece.errors import InputError
from polepiece.study.columns import Column, columns_of
from polepiece.study.plan import StudyPlan
from polepiece.study.worker import Rows

INSTALL = "pip install 'polepiece[sweep]'"
ROWS = 65_536  # of a row group of the table
DIGEST, PROVENANCE, MADE = b"polepiece_digest", b"polepiece_sweep", b"polepiece_made"


def needs_parquet() -> Any:
    """Return the library that reads and writes Parquet.

    Raises
    ------
    InputError
        When it is not installed.
    """
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        raise InputError(f"a sweep is written as Parquet, which needs pyarrow: {INSTALL}.") from None
    return pyarrow


class PartsFolder:
    """The folder of parts beside a table, ``TABLE.parts``.

    Parameters
    ----------
    table : str or Path
        The Parquet file to make in the end.
    plan : StudyPlan
    replace : bool
        Begin anew where parts of another study are in the way.

    Raises
    ------
    InputError
        When they are, and it is not said to begin anew.
    """

    def __init__(self, table: str | Path, plan: StudyPlan, *, replace: bool = False) -> None:
        self._arrow = needs_parquet()
        self.table = Path(table)
        self.folder = self.table.with_name(self.table.name + ".parts")
        self.plan = plan
        self._schema = self._schema_of(columns_of(plan.setup))
        told = self.folder / "study.json"
        whose = json.loads(told.read_text("utf-8"))["digest"] if told.exists() else None
        if self.folder.exists() and whose != plan.digest:
            if not replace:
                raise InputError(
                    f"{self.folder} holds parts of another sweep (another guitar, --vary, design, seed or version): "
                    "name another --out, say the command as it was, or drop them with --replace."
                )
            shutil.rmtree(self.folder)
        self.folder.mkdir(exist_ok=True)
        self._write(told, json.dumps({"digest": plan.digest, **plan.provenance}, indent=1).encode())

    def finished(self) -> frozenset[int]:
        """Return the numbers of the chunks that are there; what is damaged or not whole is dropped."""
        found = set()
        for path in self.folder.glob("*"):
            if path.suffix == ".new":
                path.unlink()
            elif path.suffix == ".parquet":
                if self._whole(path):
                    found.add(int(path.stem))
                else:
                    path.unlink()
        return frozenset(found)

    def _whole(self, path: Path) -> bool:
        try:
            said = self._arrow.parquet.read_metadata(path)
            number = int(path.stem)
            if number >= self.plan.chunks or said.num_rows != self.plan.rows(number):
                return False
            return bool((said.metadata or {}).get(DIGEST) == self.plan.digest.encode())
        except (self._arrow.ArrowException, OSError, ValueError):
            return False

    def keep(self, chunk: int, rows: Rows) -> None:
        """Write the rows of one chunk."""
        table = self._arrow.table(rows, schema=self._schema)
        if table.num_rows != self.plan.rows(chunk):
            raise InputError(f"chunk {chunk} came back with {table.num_rows} rows, not {self.plan.rows(chunk)}.")
        sink = self._arrow.BufferOutputStream()
        self._arrow.parquet.write_table(table, sink, compression="zstd")
        self._write(self.folder / f"{chunk:08d}.parquet", sink.getvalue().to_pybytes())

    def finish(self) -> None:
        """Make the table of all parts, in the order of work, and let the parts go.

        Raises
        ------
        InputError
            When a part is missing.
        """
        if missing := set(range(self.plan.chunks)) - self.finished():
            raise InputError(f"{len(missing)} of {self.plan.chunks} parts are missing; the same command makes them.")
        told = {
            DIGEST: self.plan.digest, PROVENANCE: json.dumps(self.plan.provenance),
            MADE: datetime.now(UTC).isoformat(timespec="seconds"),
        }  # fmt: skip
        schema = self._schema.with_metadata(told)
        beside = self.table.with_name(self.table.name + ".new")
        with self._arrow.parquet.ParquetWriter(beside, schema, compression="zstd") as writer:
            for group in self._groups():
                writer.write_table(group.cast(schema))
        self._sync(beside)
        os.replace(beside, self.table)
        shutil.rmtree(self.folder)

    def _groups(self) -> "Iterator[Any]":
        """Yield the parts, as many together as make a row group."""
        together, rows = [], 0
        for chunk in range(self.plan.chunks):
            together.append(self._arrow.parquet.read_table(self.folder / f"{chunk:08d}.parquet"))
            rows += together[-1].num_rows
            if rows >= ROWS:
                yield self._arrow.concat_tables(together)
                together, rows = [], 0
        if together:
            yield self._arrow.concat_tables(together)

    def _schema_of(self, columns: tuple[Column, ...]) -> Any:
        kinds = {"whole": self._arrow.int64(), "number": self._arrow.float64(), "word": self._arrow.string()}
        return self._arrow.schema(
            [self._arrow.field(one.name, kinds[one.kind], metadata={"meaning": one.meaning}) for one in columns],
            metadata={DIGEST: self.plan.digest},
        )

    @staticmethod
    def _sync(path: Path) -> None:
        with path.open("rb") as file:
            os.fsync(file.fileno())

    def _write(self, path: Path, data: bytes) -> None:
        beside = path.with_name(path.name + ".new")
        beside.write_bytes(data)
        self._sync(beside)
        with suppress(OSError):
            os.chmod(beside, 0o644)
        os.replace(beside, path)
