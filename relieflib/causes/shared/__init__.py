"""What several causes share: flow through valves, boiling off, a batch that reacts."""
