"""What a setting may not break: joints, surroundings, stud and thread."""
