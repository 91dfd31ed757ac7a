"""Plain ids from words in any letters."""

import pytest

from swatches.naming import free_id, plain_id


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("Grüner Loden, 2. Stück", "gruner-loden-2-stuck"),
        ("ä", "a"),
        ("Straße", "strasse"),
        ("Blåbærgrød", "blabaergrod"),
        ("Łódź", "lodz"),
        ("布", "cloth"),
        ("布 2", "cloth-2"),
        ("…", "cloth"),
        ("x" * 90, "x" * 60),
    ],
)
def test_words_become_plain_letters(words, expected):
    assert plain_id(words, "cloth") == expected


def test_names_in_another_script_get_ids_of_their_own():
    taken = set()
    for word in ("布", "毛", "綿", "ä", "á"):
        taken.add(free_id(word, taken))
    assert taken == {"cloth", "cloth-2", "cloth-3", "a", "a-2"}
