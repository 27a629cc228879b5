"""Pictures by simulated cameras, with meat whose step is known: is the step read, and what cannot be read refused?"""
