"""What comes in and goes out, as pydantic models: the OpenAPI document is made of them."""
