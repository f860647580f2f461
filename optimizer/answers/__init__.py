"""What each command answers, as typed facts."""
