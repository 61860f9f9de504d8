"""What it means: joins records and physics. Estimates, changes, trends, recall, plans."""
