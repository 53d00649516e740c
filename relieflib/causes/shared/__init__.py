"""What several causes share: flow through valves, boiling off, level swell, a batch that reacts."""
