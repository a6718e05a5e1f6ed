"""Reports for the learner and the teacher: HTML, PDF, CSV, JSON, iCalendar."""
