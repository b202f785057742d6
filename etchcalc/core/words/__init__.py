"""Every word of the vocabulary, one file a topic, values in the metric unit of their kind."""
