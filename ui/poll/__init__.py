"""The voting page: plain HTML that works on a phone and without script, apart from the studio and on its own port."""
