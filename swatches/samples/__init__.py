"""The built-in cloth: an invented choir store cupboard."""
