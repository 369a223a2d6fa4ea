"""One order becomes one plate."""
