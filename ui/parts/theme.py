"""The page's own look: values for the interface library's widgets; the rest is in ``ui/static/*.css``."""

from __future__ import annotations

from typing import Any

from ui.parts.scripts import preloads

_HEAD = """
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<link rel="stylesheet" href="/ours/frame.css">
<link rel="preload" href="/ours/AlegreyaSans-Regular.ttf" as="font" type="font/ttf" crossorigin>
"""


def head() -> str:
    """Give what stands in the page's head."""
    return _HEAD + preloads()


def theme() -> Any:
    """Give the theme; every colour is one of the page's own variables, so that light and dark follow one list."""
    import gradio as gr

    fonts = ["Alegreya Sans", "system-ui", "sans-serif"]
    base = gr.themes.Base(font=fonts, font_mono=["ui-monospace", "monospace"])
    values = {
        "body_background_fill": "var(--table)",
        "body_text_color": "var(--ink)",
        "body_text_color_subdued": "var(--ink-2)",
        "background_fill_primary": "var(--sheet)",
        "background_fill_secondary": "var(--table)",
        "border_color_primary": "var(--rule)",
        "border_color_accent": "var(--accent)",
        "color_accent": "var(--accent)",
        "color_accent_soft": "var(--accent-soft)",
        "link_text_color": "var(--accent)",
        "block_background_fill": "transparent",
        "block_border_width": "0px",
        "block_label_text_color": "var(--ink-2)",
        "block_title_text_color": "var(--ink-2)",
        "block_info_text_color": "var(--ink-2)",
        "block_shadow": "none",
        "input_background_fill": "var(--sheet)",
        "input_border_color": "var(--rule-2)",
        "input_border_color_focus": "var(--accent)",
        "input_placeholder_color": "var(--ink-3)",
        "input_shadow": "none",
        "input_shadow_focus": "none",
        "button_primary_background_fill": "var(--ink)",
        "button_primary_text_color": "var(--sheet)",
        "button_secondary_background_fill": "transparent",
        "button_secondary_background_fill_hover": "var(--accent-soft)",
        "button_secondary_border_color": "var(--rule-2)",
        "button_secondary_text_color": "var(--ink)",
        "panel_background_fill": "transparent",
        "panel_border_width": "0px",
    }
    dark = {f"{k}_dark": v for k, v in values.items() if f"{k}_dark" in gr.themes.Base.set.__code__.co_varnames}
    return base.set(**values, **dark)
