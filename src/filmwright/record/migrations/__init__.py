"""How the tables of a record came about, one revision after the other; forward only."""
