"""The trade's words as data, and the code that loads and checks them."""
