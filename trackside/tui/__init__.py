"""What is seen: the app, its commands, screens and widgets."""
