"""How the pieces lie on cloth."""
