"""The JSON Schemas of the contract: of requests, made from their marshmallow schemas, and of answers."""
