"""Which boards make which panels, cut where and laid how, at the least cost."""
