"""The reviewer settles what is flagged."""
