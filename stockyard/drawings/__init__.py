"""Boards, panels, cut maps and labels as drawings."""
