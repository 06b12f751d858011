"""The open lap's answer as the builder sees it."""
