"""Files, prices, proposal, work beside the window, questions."""
