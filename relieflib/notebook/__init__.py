"""What only notebooks need: panel, figures, sketch, questions, report."""
