"""How a question is drawn, read, judged, kept and marked; what is asked stands in `questions`."""
