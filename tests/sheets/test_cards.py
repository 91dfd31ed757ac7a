import numpy as np
import pypdfium2
import pytest

from mockup.sheets.card import SIZES, alt_text, cards
from mockup.sheets.compare import Choice, ClothShare, compare_sheet, whole_percents
from mockup.sheets.compare_pdf import compare_pdf
from swatches.errors import InputError


def choice(letter, colour, name="Frost"):
    picture = np.full((300, 400, 3), 250, np.uint8)
    picture[60:240, 100:300] = colour
    cloths = [ClothShare("linen", 0.25, (200, 200, 180)), ClothShare("<b>wool</b>", 0.75, colour)]
    return Choice(letter, name, {"front": picture, "back": picture}, cloths)


@pytest.mark.parametrize("size", SIZES)
def test_cards_have_the_size_and_the_garment_in_the_same_place(size):
    made = cards([choice("A", (40, 90, 60)), choice("B", (120, 30, 40))], title="Which?", size=size)
    assert list(made) == ["A", "B"]
    width, height = SIZES[size]
    where = []
    for letter, colour in (("A", (40, 90, 60)), ("B", (120, 30, 40))):
        assert made[letter].shape == (height, width, 3)
        here = (np.abs(made[letter].astype(int) - colour).max(axis=2) < 6)[200 : height - 250]
        assert here.sum() > 20_000
        where.append(here)
    assert (where[0] == where[1]).mean() > 0.999


def test_the_letter_is_burned_in():
    a, b = (cards([choice(letter, (40, 90, 60))], title="Which?")[letter][50:200, 50:200] for letter in "AB")
    assert (a != b).any()
    assert (a < 60).all(axis=2).mean() > 0.3


def test_text_alternative_names_cloths_by_share():
    text = alt_text(choice("A", (1, 2, 3)))
    assert text == "Choice A, Frost: the garment's front and back, in <b>wool</b> 75 %, linen 25 %"


def test_unknown_size_is_refused():
    with pytest.raises(InputError, match="square, tall, story"):
        cards([choice("A", (1, 2, 3))], title="x", size="huge")
    with pytest.raises(InputError):
        cards([], title="x")


@pytest.mark.parametrize(
    ("shares", "percents"),
    [
        # largest remainder by hand: thirds of 100 leave 1 over, which the first of equals gets
        ([1, 1, 1], [34, 33, 33]),
        ([0.645, 0.345, 0.01], [65, 34, 1]),
        ([0.1667] * 6, [17, 17, 17, 17, 16, 16]),
        ([0.5, 0.3], [63, 37]),  # a panel that is left as it is: shares of what is clothed; 62.5 and 37.5
        ([0.0, 0.0], [0, 0]),
        ([], []),
    ],
)
def test_shares_add_up_to_a_hundred(shares, percents):
    assert whole_percents(shares) == percents


def test_random_shares_add_up_to_a_hundred_and_stay_within_one():
    rng = np.random.default_rng(5)
    for _ in range(200):
        shares = rng.random(rng.integers(1, 9))
        percents = whole_percents(list(shares))
        assert sum(percents) == 100
        assert np.abs(np.array(percents) - 100 * shares / shares.sum()).max() < 1


def test_the_choices_as_a_document(tmp_path):
    picture = np.full((120, 90, 3), 250, np.uint8)
    picture[30:90, 20:70] = (30, 60, 50)
    cloths = [ClothShare("spruce", 0.6, (30, 60, 50), note="from the cupboard: at least 0.95 m²"),
              ClothShare("<b>oat</b>", 0.4, (220, 200, 160), note="to buy: at least 0.30 m²")]  # fmt: skip
    choices = [Choice(letter, "", {"front": picture}, cloths) for letter in "AB"]
    sheet = compare_sheet(choices, title="Tunic", width_px=700)
    words = [[f"{alt_text(c)}.", *(f"{f.name}: {f.note}." for f in c.fabrics)] for c in choices]
    made = compare_pdf([sheet, sheet], words, title="Tunic", date="2026-12-12")
    assert made == compare_pdf([sheet, sheet], words, title="Tunic", date="2026-12-12")
    document = pypdfium2.PdfDocument(made)
    assert len(document) == 3
    text = document[2].get_textpage().get_text_range()
    for said in ("Choice A", "Choice B", "spruce 60 %", "<b>oat</b>: to buy: at least 0.30 m²"):
        assert said in " ".join(text.split())
    with pytest.raises(InputError, match="sheets"):
        compare_pdf([], [], title="x")


def test_no_choice_yet_is_one_sentence():
    with pytest.raises(InputError, match="Give a panel a cloth"):
        compare_sheet([], title="x")
