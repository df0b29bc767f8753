"""One module a part, each with `measure()`; listed in the order of the table."""

PARTS = (
    "drive_path",
    "drive_solve",
    "drive_draws",
    "pluck_tone",
    "pluck_workshop",
    "pluck_bound",
    "pluck_tension",
    "pluck_real",
    "pluck_peers",
    "capture_angle",
    "capture_cover",
    "capture_teeth",
    "capture_real",
    "capture_speed",
    "fuzz",
    "teeth_out",
    "decision",
    "job_assess",
    "sheets",
    "command_line",
)
