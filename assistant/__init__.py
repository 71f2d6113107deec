"""whyplan: a rules-based coaching assistant whose every number can be traced."""

__version__ = "0.1.0"
