"""A seam that is taken out of the cut pieces, and one that is put back, are steps that can be undone."""

from __future__ import annotations

from dataclasses import asdict, replace

from mockup import journey
from mockup.journey.joining import Join
from mockup.samples import choir
from ui.parts import earlier_cuts
from ui.parts.session import Session, Sessions
from ui.questions import pieces, pieces_make

YOKE = asdict(Join("front yoke:yoke", "middle front:yoke", 0.5))
SIDE = asdict(Join("middle front:side", "back:side", 2.0))


def cut(session: Session, *joins: dict[str, object]) -> None:
    """What the page keeps after a cut with these seams taken out; its file says which they are."""
    folder = session.home / "cutting"
    folder.mkdir(exist_ok=True)
    (folder / "pieces-a4.pdf").write_text(str(joins))
    number = session.step.number if session.step else 0
    facts = ({"grade": "fine", "text": str(joins)},)
    pieces._keep(session, pieces.Made(number, folder, ("pieces-a4.pdf",), facts, {"allowance": "15 mm"}, joins))


def shown(session: Session) -> tuple[bool, str]:
    """Whether the files shown are of the pieces as they are now, and what the file says."""
    return session.made_holds, (session.made_folder / "pieces-a4.pdf").read_text()


def test_taking_seams_out_and_putting_one_back_can_be_undone_and_done_again(session: Session) -> None:
    cut(session)
    begun = session.step
    assert begun is not None
    assert session.joins == (), "cutting alone is no change"
    cut(session, YOKE)
    cut(session, YOKE, SIDE)
    cut(session, YOKE)
    labels = [s.label for s in session.state.steps[-3:]]
    assert labels == ["took a seam out", "took a seam out", "put a seam back"]
    for expected in ((YOKE, SIDE), (YOKE,), ()):
        session.undo()
        assert session.joins == expected
        assert shown(session) == (True, str(expected)), "the pieces come back as they were cut"
        assert session.state.facts[0]["text"] == str(expected)
    assert session.step == begun
    for expected in ((YOKE,), (YOKE, SIDE), (YOKE,)):
        session.redo()
        assert shown(session) == (True, str(expected))
    assert session.joins == (YOKE,)


def test_cuts_are_kept_for_a_few_steps_and_not_for_steps_that_are_gone(session: Session, sessions: Sessions) -> None:
    seams = [({**YOKE, "allow_mm": k / 10},) for k in range(earlier_cuts.KEPT + 2)]
    for joins in seams:
        cut(session, *joins)
    folders = session.home / "cuts"
    assert len(list(folders.iterdir())) == earlier_cuts.KEPT
    sessions.close(session.word)
    again = sessions.get(session.word)
    for joins in seams[-2:0:-1]:
        again.undo()
        assert shown(again) == (True, str(joins)), "they are there after a restart too"
    again.undo()
    assert not again.made_holds, "only so many are kept"
    again.keep(again.need(), "renamed a line")
    cut(again, SIDE)
    assert len(list(folders.iterdir())) == 0, "nothing leads back to what was undone"
    again.undo()
    assert not again.made_holds


def test_other_changes_leave_seams_out_and_so_does_opening_the_work_again(session: Session, sessions: Sessions) -> None:
    cut(session, YOKE)
    session.keep(session.need(), "renamed a line")
    assert session.joins == (YOKE,)
    assert session.made_holds
    sessions.close(session.word)
    again = sessions.get(session.word)
    assert again.joins == (YOKE,)
    with again.new_garment(copy=True) as folder:
        again.keep(again.need(), "began another garment", garment=folder.name)
    assert again.joins == (), "another garment has seams of its own"


def test_a_seam_round_a_shape_that_is_let_in_says_which_line_to_remove(session: Session) -> None:
    project, _ = journey.put_pieces(session.folder, session.need(), choir.PIECES)
    front, *rest = journey.pieces_of(project, session.folder)
    hole = replace(front.edges[0], name="moon")
    holed = replace(front, holes=((hole,),))
    said = str(pieces_make._lost((holed, *rest), Join(f"{front.name}:moon", "moon:moon")))
    assert "moon, which runs round a shape that is let in" in said
    assert "Remove that line" in said
    assert "Press both again" in str(pieces_make._lost((front, *rest), Join("front:gone", "back:side")))
