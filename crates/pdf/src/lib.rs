//! Typesetting: a template, one JSON file and pictures become a PDF. Knows nothing of protection.
