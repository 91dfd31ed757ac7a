"""What is sewn into the garment already, marked over the picture of the bare page."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser


def test_a_dart_is_marked_by_its_opening_and_its_tip_and_shown(page: Any, bare: str) -> None:
    page.goto(f"{bare}/")
    page.wait_for_function("() => document.querySelector('.editor')?.dataset.ready === '1'")
    page.evaluate("() => window.editor.drawing.begin('dart')")
    left, top, k = page.evaluate(
        "() => { const p = window.editor.panes[0], r = p.sheet.getBoundingClientRect();"
        " const q = window.editor.port.place(p); return [r.x + q.dx, r.y + q.dy, q.k]; }"
    )
    page.mouse.click(left + 490 * k, top + 400 * k)
    page.keyboard.press("Enter")
    assert page.evaluate("() => window.told") == [], "one place is no dart"
    page.mouse.click(left + 420 * k, top + 400 * k)
    page.keyboard.press("Enter")
    ((name, sent),) = page.evaluate("() => window.told")
    assert (name, sent["do"], sent["side"], sent["kind"]) == ("act", "detail", "front", "dart")
    assert sent["points"][1] == [pytest.approx(120 / 200, abs=0.01), pytest.approx(360 / 720, abs=0.01)]
    page.evaluate(
        """() => {
          const s = window.props.value;
          const points = [[0.95, 0.5], [0.6, 0.5]];
          const dart = (side) => ({ id: side, kind: 'dart', word: 'dart', side, own: true, points });
          window.send({ ...s, revision: 2, details: [dart('front'), dart('back')] });
        }"""
    )
    page.wait_for_function("() => document.querySelector('.editor').dataset.ready === '2'")
    shown = page.eval_on_selector_all(
        "figure:first-child .detail:not(.under)", "(all) => all.map((e) => e.getAttribute('d'))"
    )
    assert shown == ["M490.0 400.0L420.0 400.0"], "each side shows its own"
