"""What a person can do, without a screen."""
