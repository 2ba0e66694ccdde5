"""The kinds of `labelkit fit`: a module each, which parses, calls one sum of calc and tells its answer."""
