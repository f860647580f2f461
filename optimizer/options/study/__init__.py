"""The Optuna study: the search for the best option, trial by trial, kept where a user wants it."""
