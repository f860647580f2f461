"""What a case file may say, as types that can't be changed; validation lives here."""
