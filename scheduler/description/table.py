"""What all tables of the description share."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Flag = Annotated[bool, Field(strict=True)]
Share = Annotated[float, Field(ge=0.001, le=1, strict=True)]
Ratio = Annotated[float, Field(ge=1, le=100, strict=True)]
Ph = Annotated[float, Field(ge=3, le=11, strict=True)]


class Table(BaseModel):
    """What all tables share: unknown keys are refused, nothing changes after loading."""

    # Built when first used: the whole file then needs one validator, not one for each of its tables.
    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, allow_inf_nan=False, defer_build=True
    )
