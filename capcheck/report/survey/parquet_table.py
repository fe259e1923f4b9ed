"""Rows as Parquet, with the schema that they follow and the cautions beside them."""

from __future__ import annotations

import io
from collections.abc import Collection, Sequence

from capcheck.lexicon import cautions
from capcheck.values import InputError


def parquet_table(
    rows: Sequence[dict[str, object]],
    names: Sequence[str],
    schema: str,
    *,
    texts: Collection[str],
    counts: Collection[str] = (),
) -> bytes:
    """Return *rows* with the columns *names*: *texts*, *counts*, and all others numbers.

    Raises :class:`~capcheck.values.InputError` where the library that writes it is not installed.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise InputError.at(
            "--format parquet",
            "needs the library pyarrow, which is not installed",
            remedy='install it with: pip install "capcheck[parquet]"',
        ) from None
    fields = [
        pa.field(name, pa.string() if name in texts else pa.int64() if name in counts else pa.float64())
        for name in names
    ]
    sink = io.BytesIO()
    told = pa.schema(fields, metadata={"schema": schema, "cautions": cautions()})
    pq.write_table(pa.Table.from_pylist(list(rows), schema=told), sink)
    return sink.getvalue()
