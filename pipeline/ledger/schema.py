"""What stands in a ledger: its tables, and the answers that are views on them.

Plain SQL works on it (`duckdb ledger.duckdb`). All times are UTC, lengths are in seconds or
millimetres, ids are those of the findings file. `recording`, the SHA-256 of a recording's content,
joins the tables; each recording stands in a ledger once.

    records     One row a recording. folder: absolute. person: the name of the folder that the
                findings folder lies in (give each person who records a folder). day: when it was
                recorded by the camera's own clock, null where the file does not tell. file_name,
                recorded_at, duration_s, transcript_origin, kind, year, make, model, vin,
                stock_number, odometer, odometer_unit, program_version, lexicon_version,
                speech_model. decisions: how many a reviewer made. written_at: of the findings.
                content: a digest of findings and journal.
    findings    One row a finding, struck ones too: id, area, part, position, side, detail, defect,
                severity, severity_basis, count, size_mm, area_pct, start_s, end_s, heard, read_as,
                confidence, status, caution.
    open_flags  One row a reason to look that nobody has settled. target: a finding's or a line's
                id. flag. part, defect: null for a line. start_s, end_s, said.
    checklist   One row a part that a walkaround of that kind should cover: part, area, spoken_of.
    decisions   One row a reviewer's decision: number, person, made_at, kind, target.
    about       `schema`: the version of this description.
"""

from typing import NamedTuple

SCHEMA = "wearword/ledger/1"

TABLES = {
    "records": """
        recording VARCHAR, folder VARCHAR, person VARCHAR, day DATE, file_name VARCHAR,
        recorded_at TIMESTAMP, duration_s DOUBLE, transcript_origin VARCHAR, kind VARCHAR,
        year BIGINT, make VARCHAR, model VARCHAR, vin VARCHAR, stock_number VARCHAR,
        odometer DOUBLE, odometer_unit VARCHAR, program_version VARCHAR, lexicon_version VARCHAR,
        speech_model VARCHAR, decisions INTEGER, written_at TIMESTAMP, content VARCHAR""",
    "findings": """
        recording VARCHAR, id VARCHAR, area VARCHAR, part VARCHAR, position VARCHAR, side VARCHAR,
        detail VARCHAR, defect VARCHAR, severity INTEGER, severity_basis VARCHAR, count BIGINT,
        size_mm DOUBLE, area_pct DOUBLE, start_s DOUBLE, end_s DOUBLE, heard VARCHAR,
        read_as VARCHAR, confidence DOUBLE, status VARCHAR, caution VARCHAR""",
    "open_flags": """
        recording VARCHAR, target VARCHAR, flag VARCHAR, part VARCHAR, defect VARCHAR,
        start_s DOUBLE, end_s DOUBLE, said VARCHAR""",
    "checklist": "recording VARCHAR, part VARCHAR, area VARCHAR, spoken_of BOOLEAN",
    "decisions": """
        recording VARCHAR, number INTEGER, person VARCHAR, made_at TIMESTAMP, kind VARCHAR,
        target VARCHAR""",
}


class Answer(NamedTuple):
    """A question that a manager asks: its view's name, a title, and the view's SQL."""

    name: str
    title: str
    sql: str


ANSWERS = (
    Answer(
        "open_flags_by_person_and_day",
        "Open flags by person and day",
        """
        SELECT person, day, count(DISTINCT recording || target) AS to_settle,
            count(flag) AS flags, count(DISTINCT recording) AS recordings
        FROM records LEFT JOIN open_flags USING (recording)
        GROUP BY person, day ORDER BY to_settle DESC, person, day
        """,
    ),
    Answer(
        "flaws_by_part",
        "Most common flaws by part",
        """
        SELECT area, part, defect, count(*) AS times, count(DISTINCT recording) AS recordings,
            round(avg(severity), 2) AS mean_grade
        FROM findings WHERE status <> 'struck'
        GROUP BY area, part, defect ORDER BY times DESC, recordings DESC, part, defect
        """,
    ),
    Answer(
        "skipped_areas",
        "Walkaround areas skipped most",
        """
        SELECT area, count(*) FILTER (NOT spoken_of) AS parts_skipped, count(*) AS parts,
            round(avg((NOT spoken_of)::INTEGER), 3) AS share_skipped,
            count(DISTINCT recording)
                - count(DISTINCT recording) FILTER (spoken_of) AS recordings_without_area
        FROM checklist GROUP BY area ORDER BY share_skipped DESC, parts_skipped DESC, area
        """,
    ),
    # A reviewer's time on a decision is the time since that reviewer's last one, in whatever
    # recording. After a break of five minutes nobody knows when work began again.
    Answer(
        "review_time",
        "Review time by reviewer and day",
        """
        WITH timed AS (
            SELECT *, epoch(made_at - lag(made_at) OVER (
                PARTITION BY person ORDER BY made_at, recording, number))
                AS took_s FROM decisions)
        SELECT person, made_at::DATE AS day, count(DISTINCT recording) AS recordings,
            count(*) AS decisions, coalesce(sum(took_s) FILTER (took_s <= 300), 0) AS review_s,
            median(took_s) FILTER (took_s <= 300) AS median_s,
            count(*) FILTER (took_s IS NULL OR took_s > 300) AS untimed
        FROM timed GROUP BY ALL ORDER BY day DESC, review_s DESC, person
        """,
    ),
)


NAMES = (*TABLES, *(answer.name for answer in ANSWERS))
