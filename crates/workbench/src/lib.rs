//! The workbench: a local web server over the same library calls as the command line.
