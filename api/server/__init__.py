"""Running Millrace: the embedded database, the app's build, the server and its worker."""
