"""The Optuna study of the options."""
