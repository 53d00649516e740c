"""What only notebooks need: panel, controls, figures, sketches, questions, forms."""
