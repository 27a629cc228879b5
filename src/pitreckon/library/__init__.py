"""The library: what ``import pitreckon as pr`` has, each name in one of these files (``docs/reference/library.md``)."""
