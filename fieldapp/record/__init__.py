"""The record: the immutable line that all else is computed from.

This is the one door to its words (`names`), its hard limits (`limits`, `rules`), its
soft ones (`asks`), its place (`place`), its line (`lines`) and what sums up a person's own
(`own`); other packages import from here alone.
"""

from fieldapp.record.asks import Usual, questions
from fieldapp.record.limits import problems
from fieldapp.record.lines import FileError, LineError, has_lone_surrogate, parse_line
from fieldapp.record.names import (
    CELL,
    DAY,
    DEVICE,
    INSTANT,
    KINDS,
    LABEL,
    LAST_SEQ,
    NAME,
    PERSON,
    PHOTO,
    SHED,
    SUM,
    Problem,
    RecordError,
    canonical,
    instant,
    is_known_kind,
    name_of,
    split_name,
    stamp,
    sum_of,
)
from fieldapp.record.own import own_counts, own_outings
from fieldapp.record.place import (
    ACC_UNKNOWN,
    Fix,
    Where,
    decode_track,
    encode_track,
    where_json,
    where_of,
)

__all__ = [
    "ACC_UNKNOWN", "CELL", "DAY", "DEVICE", "INSTANT", "KINDS", "LABEL", "LAST_SEQ", "NAME",
    "PERSON", "PHOTO", "SHED", "SUM", "FileError", "Fix", "LineError", "Problem", "RecordError",
    "Usual", "Where", "canonical", "decode_track", "encode_track", "has_lone_surrogate", "instant",
    "is_known_kind", "name_of", "own_counts", "own_outings", "parse_line", "problems", "questions",
    "split_name", "stamp", "sum_of", "where_json", "where_of",
]
