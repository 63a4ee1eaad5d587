"""What docs/build_calibration.py counts: other programs on fixed passages, and a study of small edits."""
