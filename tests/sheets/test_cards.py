import numpy as np
import pytest

from mockup.sheets.card import SIZES, alt_text, cards
from mockup.sheets.compare import Choice, ClothShare
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
