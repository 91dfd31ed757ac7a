"""Votes on choices: ballots, counting, and what may be concluded from them."""
