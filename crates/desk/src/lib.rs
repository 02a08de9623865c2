//! What command line and workbench share: studies with the library behind them, and edits of study files.
