"""The time of each row: clock times and dates as written, which column tells the time, and stamps that run forward."""
