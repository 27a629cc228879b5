"""What runs behind the pages: state, the live outlook, jobs, channels."""
