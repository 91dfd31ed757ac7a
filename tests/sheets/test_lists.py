"""Cutting list and summary: safe in a spreadsheet, safe in Markdown."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import pytest

from mockup.pattern.cutting_list import cutting_list
from mockup.pattern.proof import Proof, ProofRow
from mockup.sheets.cutting_list import cell, csv_text
from mockup.sheets.summary import summary_text
from swatches.errors import InputError


@dataclass(frozen=True, slots=True)
class Row:
    name: str
    cut_area_mm2: float
    count: int
    lined: bool
    note: str | None = None


class TestCsv:
    def test_the_demo_pattern(self, tunic):
        rows = list(csv.reader(io.StringIO(csv_text(cutting_list(tunic, {})))))
        assert rows[0][:3] == ["number", "name", "fabric"]
        assert [r[1] for r in rows[1:]] == [p.name for p in tunic]

    @pytest.mark.parametrize(
        "text", ["=1+1", "+cmd", "-2", "@SUM(A1)", "\t=1", "\r=1", "  =1"]
    )  # the starts that OWASP, 'CSV Injection', lists
    def test_a_formula_is_made_harmless(self, text):
        (row,) = list(csv.reader(io.StringIO(csv_text([Row(text, 1, 1, False)]), newline="")))[1:]
        assert row[0] == "'" + text

    def test_values(self):
        assert [cell(v) for v in (None, True, False, 3, -2.55, 12.0, ("a", "b"), "–")] == [
            "", "yes", "no", "3", "-2.5", "12", "a, b", "–",
        ]  # fmt: skip

    def test_quotes_and_commas_survive(self):
        (row,) = list(csv.reader(io.StringIO(csv_text([Row('say "hi", you', 1.25, 2, True)]))))[1:]
        assert row == ['say "hi", you', "1.2", "2", "yes", ""]

    def test_no_row(self):
        with pytest.raises(InputError, match="at least one row"):
            csv_text([])


class TestSummary:
    def test_what_it_says(self, tunic):
        proof = Proof(
            1e-9, 0.0, 0.0, (ProofRow("front: finished area", 1e-9, 1e-3, "mm²"), ProofRow("bad", 2.0, 1.0, "mm"))
        )
        text = summary_text(
            heading="Winter concert tunic",
            date="2026-11-24",
            note="An invented example.",
            choice="A, Quiet navy",
            pieces=tunic,
            proof=proof,
            files={"pieces-a4.pdf": "pieces to print"},
        )
        assert text.startswith("# Winter concert tunic\n\n*An invented example.*\n")
        assert "| 1 | front | – | cut 1 on fold |" in text
        assert "Proof failed: bad" in text
        assert "| bad | 2 mm | 1 mm | **no** |" in text
        assert "- `pieces-a4.pdf`: pieces to print" in text

    def test_names_stay_words(self):
        text = summary_text(heading="<img src=x> | *bold* [a](b)\n# two", choice="`code`")
        assert text.splitlines()[0] == r"# \<img src=x\> \| \*bold\* \[a\](b) \# two"
        assert r"\`code\`" in text

    def test_a_long_sentence_is_said_to_its_end(self):
        step = "Staystitch both sides of the curved seam d while they are cut, " * 5 + "then clip."
        text = summary_text(heading="Tunic", note=step, order=[step])
        assert text.count("then clip.") == 2
