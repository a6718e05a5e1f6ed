"""What was practised: log events, progress as a fold over them, plan, schedule, forecast."""
