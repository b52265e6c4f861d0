"""How much: times, speeds, doses, profiles, from conditions."""
