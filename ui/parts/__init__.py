"""What the headings of the page share: session, words, widgets."""
