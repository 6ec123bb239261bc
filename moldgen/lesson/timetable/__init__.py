"""The timetable of lessons: who is at which station when, and whether the time is enough."""
