"""What reaches the wheel: motion ratio, rates and damping at the contact patch."""
