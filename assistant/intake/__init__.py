"""The intake: a pure dialogue over the questions of the knowledge base, its draft, its screen."""
