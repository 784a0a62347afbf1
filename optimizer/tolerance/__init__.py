"""How exactly to turn: what errors of size a machine forgives, and how likely all is well."""
