"""A page about the doors for programs, made from the same description that programs read."""

from fastapi import APIRouter, Request

from whirlbench.actions import room
from whirlbench.web import people, render

router = APIRouter()
_SCHEMA = "#/components/schemas/"
_METHODS = ("get", "post", "put", "patch", "delete")


@router.get("/api")
def show(request: Request):
    """Every door with what it takes and gives, and examples to copy."""
    described = request.app.openapi()
    person = people.person_of(request)
    visit = people.Visit(request, person) if person else request
    teams = room.room(request.app.state.store).teams if person else ()
    number = (person.team_id if person else None) or next((one.number for one in teams), 1)
    doors = [
        _door(address, method, path[method], described)
        for address, path in described["paths"].items()
        for method in _METHODS
        if method in path
    ]
    base = request.app.state.settings.address
    return render.page(visit, "api.html", doors=doors, base=base, example=number)


def _door(address, method, described, whole):
    body = described.get("requestBody", {}).get("content", {})
    right = next((code for code in sorted(described["responses"]) if code.startswith("2")), "200")
    return {
        "method": method.upper(),
        "address": address,
        "id": described["operationId"],
        "does": described.get("description", described.get("summary", "")),
        "takes": [
            _field(one["name"], one["schema"], one.get("required", False)) | {"where": one["in"]}
            for one in described.get("parameters", [])
        ],
        "body": [_named(one["schema"], whole) | {"kind": kind} for kind, one in body.items()],
        "gives": _gives(described["responses"][right], whole),
        "right": right,
    }


def _gives(answer, whole):
    schema = answer.get("content", {}).get("application/json", {}).get("schema", {})
    return _named(schema, whole)


def _named(schema, whole):
    """Name of a schema with its fields; of several the fields of each, one after the other."""
    names = [one["$ref"].removeprefix(_SCHEMA) for one in [schema, *schema.get("anyOf", [])] if "$ref" in one]
    models = [whole["components"]["schemas"][name] for name in names]
    fields = [
        [_field(key, field, key in model.get("required", [])) for key, field in model.get("properties", {}).items()]
        for model in models
    ]
    return {"models": list(zip(names, fields, strict=True))}


def _field(name, schema, required):
    return {"name": name, "needed": required, "type": _type(schema), "words": schema.get("description", "")}


def _type(schema):
    """Kind of a value in a few words."""
    if "$ref" in schema:
        return schema["$ref"].removeprefix(_SCHEMA)
    if "anyOf" in schema:
        return " | ".join(dict.fromkeys(_type(one) for one in schema["anyOf"]))
    if schema.get("type") == "array":
        return f"[{_type(schema.get('items', {}))}]"
    bounds = [f"{sign} {schema[key]}" for key, sign in (("minimum", "≥"), ("maximum", "≤")) if key in schema]
    return " ".join([schema.get("type", "object"), *bounds])
