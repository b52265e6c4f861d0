"""The wafer: what lies where, and what each action does to it."""
