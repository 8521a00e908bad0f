"""The fonts at hand and the writing of any script with them: those carried along, those of the machine, shaping."""
