"""The desk: one shoot served to a browser on this machine, live."""
