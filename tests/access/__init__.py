"""The walls between clients and between roles, held for every address there is."""
