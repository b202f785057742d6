"""One commission from order to record: its plan, its ranges, its folder."""
