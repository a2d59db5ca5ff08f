"""The server around the engine: store, access, services, documents and a small HTTP interface."""
