"""Twin cooks: invented cooks whose truth comes from a finer grid and other physics than the forecaster's.

``deal`` draws what is cooked and what is true of it; ``fire`` is the pit as it really burns; ``truth`` runs the meat;
``habits`` is what the cook does about it; ``observe`` is what reaches the ledger; ``day`` puts these together.
``judge`` asks the forecaster at the moments that count and scores it (``scores``) beside three plain ways of guessing
(``baselines``); ``replay`` follows its advice on trips. ``store`` keeps the rows, ``tables`` reads them, ``page`` puts
them into ``validation/README.md``, ``run`` spreads the work. ``houses`` cook again and again; ``pooled`` asks what
lessons of many would be worth (``neighbours``, ``tellings``, ``pooling``, ``pooledworth``). Nothing of
``pitreckon.reckon`` is used to make a twin.
"""
