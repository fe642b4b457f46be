"""Curves out of an EDF+ file: airway pressure, flow and carbon dioxide by their labels.

EDF+: Kemp & Olivan, Clin Neurophysiol 2003;114:1755-1761. A file of the kind "EDF+D" has gaps: the first
annotation of each of its records says when that record began.
"""

import math
import re
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from lungeline.errors import InputError, MissingError
from lungeline.listen.columns import CURVES, Columns, guessed, remembered
from lungeline.listen.file_feed import FileFeed
from lungeline.listen.stretches import Stretch
from lungeline.listen.told import Flaws

if TYPE_CHECKING:
    from collections.abc import Mapping

    from edfio import Edf
    from numpy.typing import NDArray

_HEADER_BYTES = 256
_ANNOTATIONS = "EDF Annotations"
_KEEPS_TIME = re.compile(rb"([+-]\d+(?:\.\d*)?)(?:\x15[\d.]*)?\x14\x14")
_SAME_S = 1e-3
_LONGEST_GAP_S = 3600.0


def feed_from_edf(
    path: str | Path, columns: Columns | None = None, *, remember: Path | None = None
) -> FileFeed:
    """Return the feed in an EDF or EDF+ file.

    columns: what its labels mean; guessed where not given. remember: a columns file that says so, or is
    written where it is not there yet. Raises InputError for what is no such file.
    """
    path = Path(path)
    content = _content(path)
    edf = _read(content, path)
    labels = [signal.label for signal in edf.signals]
    units = [signal.physical_dimension for signal in edf.signals]
    if columns is None:
        columns = remembered(remember, labels, units) if remember else guessed(labels, units)
    curves: dict[str, tuple[float, NDArray[np.float64]]] = {}
    for column in columns.columns:
        if column.name in labels and column.key in CURVES:
            signal = edf.signals[labels.index(column.name)]
            scale = column.in_key_unit(1.0) - column.in_key_unit(0.0)
            values = column.in_key_unit(0.0) + scale * np.asarray(signal.data, dtype=np.float64)
            curves[column.key] = (float(signal.sampling_frequency), values)
    if not curves:
        raise MissingError(
            where=path.name, given=", ".join(labels)[:200], allowed="a signal of pressure, flow or CO2",
            do="Write a columns file.",
        )  # fmt: skip
    return _feed(path.name, curves, _record_begins_s(content, edf), float(edf.data_record_duration))


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise MissingError(
            where="file", given=str(path), allowed="a file that exists", do="Check the name."
        ) from None
    except OSError as error:
        raise _refuse(str(path), "a readable file") from error


def _read(content: bytes, path: Path) -> "Edf":
    from edfio import read_edf

    try:
        return read_edf(content)
    except Exception as error:  # whatever the reader trips over
        raise _refuse(path.name, "an EDF or EDF+ file") from error


def _record_begins_s(content: bytes, edf: "Edf") -> list[float]:
    """Return when each record began, from the file's start; one after the other where it does not say."""
    records, lasts_s = edf.num_data_records, float(edf.data_record_duration)
    plain = [place * lasts_s for place in range(records)]
    if not edf.reserved.startswith("EDF+D"):
        return plain
    signals = int(content[252:256])
    labels = [
        content[_HEADER_BYTES + 16 * place :][:16].decode("ascii", "replace").strip()
        for place in range(signals)
    ]
    samples = [int(content[_HEADER_BYTES + 216 * signals + 8 * place :][:8]) for place in range(signals)]
    if _ANNOTATIONS not in labels:
        return plain
    place = labels.index(_ANNOTATIONS)
    begins, width, within = _HEADER_BYTES * (1 + signals), 2 * sum(samples), 2 * sum(samples[:place])
    found = []
    for record, usual in enumerate(plain):
        at = begins + record * width + within
        match = _KEEPS_TIME.match(content[at : at + 2 * samples[place]])
        found.append(float(match.group(1)) if match else usual)
    return found


def _feed(
    source: str,
    curves: "Mapping[str, tuple[float, NDArray[np.float64]]]",
    begins_s: list[float],
    lasts_s: float,
) -> FileFeed:
    """Return the records on one clock; where it was set back or far on, a new stretch begins."""
    pieces: list[list[int]] = []
    for record, begin_s in enumerate(begins_s):
        after_s = begin_s - (begins_s[record - 1] + lasts_s) if record else math.inf
        if -_SAME_S <= after_s <= _LONGEST_GAP_S and pieces:
            pieces[-1].append(record)
        else:
            pieces.append([record])
    stretches = [_stretch(curves, records, begins_s, lasts_s) for records in pieces]
    steps = np.diff(begins_s) - lasts_s
    flaws = Flaws(
        jumps=len(pieces) - 1, gaps=int(np.count_nonzero((steps > _SAME_S) & (steps <= _LONGEST_GAP_S)))
    )
    return FileFeed(source, stretches=stretches, findings=flaws.findings())


def _stretch(
    curves: "Mapping[str, tuple[float, NDArray[np.float64]]]",
    records: list[int],
    begins_s: list[float],
    lasts_s: float,
) -> Stretch:
    began_s = begins_s[records[0]]
    span_s = begins_s[records[-1]] + lasts_s - began_s
    placed = {}
    for key, (rate_hz, values) in curves.items():
        each = round(lasts_s * rate_hz)
        whole = np.full(round(span_s * rate_hz), math.nan)
        for record in records:
            at = round((begins_s[record] - began_s) * rate_hz)
            part = values[record * each : (record + 1) * each]
            whole[at : at + len(part)] = part[: len(whole) - at]
        placed[key] = (rate_hz, whole)
    return Stretch(began_s=began_s, curves=placed)


def _refuse(given: object, allowed: str) -> InputError:
    return InputError(where="file", given=given, allowed=allowed, do="Look at the file, and export it again.")
