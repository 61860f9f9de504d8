"""How it is told: the run sheet and the debrief in words and on paper, in the crew's units."""
