import itertools

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import binomtest

from mockup.polls.ballot import Ballot, Ballots, read_totals, read_votes
from mockup.polls.count import bradley_terry, count, wilson
from mockup.polls.report import count_json, count_text
from mockup.sheets.votes_chart import BAR, chart_words, votes_chart
from swatches.errors import Failure, FileFormatError

# Newcombe 1998, Statistics in Medicine 17, table I, method 3.
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]

# Stigler 1994 / Agresti 2002 p. 448: rows cited, columns citing; Biometrika, Comm. Statist., JASA, JRSS-B.
CITATIONS = np.array([[0, 730, 498, 221], [33, 0, 68, 17], [320, 813, 0, 142], [284, 276, 325, 0]], dtype=float)

# The 'capital of Tennessee' example of the voting literature: 42, 26, 15 and 17 of 100 voters.
TENNESSEE = [
    (42, ("M", "N", "C", "K")),
    (26, ("N", "C", "K", "M")),
    (15, ("C", "K", "N", "M")),
    (17, ("K", "C", "N", "M")),
]


def tennessee() -> Ballots:
    names = itertools.count()
    ballots = tuple(Ballot(f"v{next(names)}", ranking) for times, ranking in TENNESSEE for _ in range(times))
    return Ballots(ballots, ("C", "K", "M", "N"))


@pytest.mark.parametrize(("k", "n", "low", "high"), NEWCOMBE)
def test_wilson_as_published(k, n, low, high):
    assert wilson(k, n) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(("k", "n"), [(12, 20), (60, 100), (165, 300), (0, 7), (7, 7)])
def test_wilson_as_scipy(k, n):
    witness = binomtest(k, n).proportion_ci(method="wilson")
    assert wilson(k, n) == pytest.approx((witness.low, witness.high), abs=1e-12)


def test_bradley_terry_as_published():
    fitted = bradley_terry(CITATIONS)
    assert fitted == pytest.approx((0, -2.94907, -0.47957, 0.26895), abs=5e-6)


def test_bradley_terry_as_maximum_likelihood():
    def loss(free):
        b = np.r_[0, free]
        return sum(CITATIONS[i, j] * np.logaddexp(0, b[j] - b[i]) for i in range(4) for j in range(4) if i != j)

    witness = minimize(loss, np.zeros(3), tol=1e-12).x
    assert bradley_terry(CITATIONS)[1:] == pytest.approx(witness, abs=1e-4)


def test_methods_disagree_on_tennessee():
    result = count(tennessee())
    assert dict(zip(result.choices, result.borda, strict=True)) == {"C": 173, "K": 107, "M": 126, "N": 194}
    assert result.first_places_winner == "M"
    assert result.counts[result.choices.index("M")] == 42
    assert result.head_to_head_winner == "N"
    n = result.choices.index("N")
    assert {c: int(result.head_to_head[n, k]) for k, c in enumerate(result.choices) if k != n} == {
        "C": 68,
        "K": 68,
        "M": 58,
    }
    assert result.methods_disagree


def test_fifty_five_percent_of_three_hundred_is_no_win():
    votes = tuple(Ballot(str(k), ("A" if k < 165 else "B",)) for k in range(300))
    result = count(Ballots(votes, ("A", "B")))
    assert result.wilson[0] == pytest.approx((0.493, 0.605), abs=5e-4)
    assert result.too_close.startswith("too close to call: of the 300 votes for A and B, A has 165;")
    one = count(Ballots((Ballot("x", ("B",)),), ("A", "B")))
    assert one.too_close.startswith("too close to call: B has the only vote for B or A;")
    assert not result.methods_disagree
    clear = count(Ballots(tuple(Ballot(str(k), ("A" if k < 200 else "B",)) for k in range(300)), ("A", "B")))
    assert clear.too_close == ""


def test_a_choice_without_a_win_is_said():
    result = count(Ballots((Ballot("x", ("A", "B")), Ballot("y", ("A", "B"))), ("A", "B")))
    assert "never won" in result.bradley_terry_note
    assert result.bradley_terry[1] == pytest.approx(np.log(0.5 / 2.5), abs=1e-9)
    assert isinstance(bradley_terry(np.array([[0.0, 2.0], [0.0, 0.0]])), Failure)


def test_no_votes():
    result = count(Ballots((), ("A", "B")))
    assert (result.votes, result.first_places_winner, result.too_close) == (0, None, "no votes yet")
    assert not result.bradley_terry


def test_unranked_choices_share_what_is_left():
    result = count(Ballots((Ballot("x", ("B",)),), ("A", "B", "C")))
    assert result.borda == (0.5, 2.0, 0.5)


def test_reading_a_table():
    read = read_votes(b"\xef\xbb\xbfVoter,First,Second\nann, b ,A\nbo,A,\n\nann,A,B\n")
    assert read.ballots == (Ballot("ann", ("B", "A")), Ballot("bo", ("A",)))
    assert read.choices == ("A", "B")
    assert len(read.warnings) == 1
    assert "ann" in read.warnings[0]


@pytest.mark.parametrize(
    "table",
    [
        b"",
        b"name,choice\nann,A\n",
        b"voter,second\nann,A\n",
        b"voter,choice\nann,\n",
        b"voter,choice\n,A\n",
        b"voter,first,second\nann,A,A\n",
        b"voter,choice\nann,A,B\n",
        b'voter,choice\n"ann,A\n',
        b"voter,choice\nann,Z\n",
        b"voter,choice\n\xff\xfe,A\n",
    ],
)
def test_bad_tables_are_refused(table):
    with pytest.raises(FileFormatError, match=r"expected .* got .*\."):
        read_votes(table, offered=("A", "B"))


def test_report_says_counts_first_and_where_methods_disagree():
    result = count(tennessee())
    answer = count_json(result)
    assert answer["counts"] == {"C": 15, "K": 17, "M": 42, "N": 26}
    assert answer["head_to_head"]["N"] == {"C": 68, "K": 68, "M": 58}
    text = count_text(result, ["row 3: ann voted already; the first vote stands"]).splitlines()
    assert text[0] == "100 votes"
    assert text[1].split()[:2] == ["M", "42"]
    assert any(line.startswith("The methods disagree: most first places M, best by all ranks N") for line in text)
    assert "By all ranks, 3 points for a first place and none for the last: N 194, C 173, M 126, K 107." in text
    assert "Head to head, N against C 68 to 32, M 58 to 42, K 68 to 32." in text
    assert text[-1].startswith("Not counted: row 3")


def test_ranks_are_said_even_where_first_places_are_too_close():
    ranked = [Ballot(str(k), ("A", "B", "C") if k % 2 else ("C", "B", "A")) for k in range(4)]
    text = count_text(count(Ballots((*ranked, Ballot("x", ("B", "A", "C"))), ("A", "B", "C"))))
    assert "Too close to call" in text
    assert "By all ranks, 2 points for a first place and none for the last: B 6, A 5, C 4." in text
    assert "Head to head, B against A 3 to 2, C 3 to 2." in text
    assert "ranks" not in count_text(count(Ballots((Ballot("x", ("B",)), Ballot("y", ("A",))), ("A", "B", "C"))))


def test_typed_totals_are_counted_as_first_places():
    result = count(read_totals(" a=165, B = 135 "))
    assert (result.votes, result.counts) == (300, (165, 135))
    assert result.wilson[0] == pytest.approx((0.493, 0.605), abs=5e-4)  # Wilson's interval of 165/300
    assert result.too_close


def test_typed_totals_take_names_of_choices():
    names = {"A": "布", "B": "Zimt & Äpfel", "C": ""}
    assert [b.ranking for b in read_totals("布=2, zimt &  äpfel=1, C=1", names=names).ballots] == [
        ("A",), ("A",), ("B",), ("C",),
    ]  # fmt: skip
    with pytest.raises(FileFormatError, match="A or 布"):
        read_totals("Zimt=2", names=names)
    with pytest.raises(FileFormatError, match="A or 布"):
        read_totals("毛=2", names=names)
    with pytest.raises(FileFormatError, match="each once"):
        read_totals("A=2,布=1", names=names)
    with pytest.raises(FileFormatError, match="totals"):  # two of one name are not told apart
        read_totals("Frost=1", names={"A": "Frost", "B": "frost"})


@pytest.mark.parametrize("text", ["", "A", "A=", "A=-1", "A=1,A=2", "AB=3", "A=1.5", "A=99999999", "1=2", "A=²"])
def test_totals_that_are_none_are_refused(text):
    with pytest.raises(FileFormatError, match="totals"):
        read_totals(text)


def test_the_chart_shows_counts_and_says_them():
    result = count(Ballots(tuple(Ballot(str(k), ("A" if k < 6 else "B",)) for k in range(8)), ("A", "B", "C")))
    chart = votes_chart(result, title="Which? <b>", names={"A": "Frost"}, width_px=800)
    assert np.array_equal(chart, votes_chart(result, title="Which? <b>", names={"A": "Frost"}, width_px=800))
    rows = [(chart[120 + 92 * k + 46] == BAR).all(axis=1).sum() for k in range(3)]
    assert rows[2] == 0
    assert rows[0] / rows[1] == pytest.approx(3, abs=0.1)  # 6 of 8 and 2 of 8
    words = chart_words(result, title="Which?", names={"A": "Frost"})
    # Wilson 95 % of 6/8 by scipy
    low, high = binomtest(6, 8).proportion_ci(method="wilson")
    assert f"A, Frost: 6 (75%, could be anywhere from {low:.0%} to {high:.0%})" in words
    assert "C: 0" in words
    nobody = count(Ballots((), ("A", "B")))
    assert "no votes yet" in chart_words(nobody, title="x")
    assert votes_chart(nobody, title="x").shape[1] == 1080
