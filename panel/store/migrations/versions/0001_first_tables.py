# ruff: noqa: PLR0915 - a revision is as long as what it changes
"""first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "cask",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("wood", sa.String(), nullable=False),
        sa.Column("size_l", sa.Double(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("number <> ''", name=op.f("ck_cask_number_not_empty")),
        sa.CheckConstraint("size_l > 0", name=op.f("ck_cask_size_l_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cask")),
        sa.UniqueConstraint("number", name=op.f("uq_cask_number")),
    )
    op.create_table(
        "descriptor",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_descriptor_name_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_descriptor")),
        sa.UniqueConstraint("name", name=op.f("uq_descriptor_name")),
    )
    op.create_table(
        "house_setting",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_house_setting")),
    )
    op.create_table(
        "log_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("written_at", sa.DateTime(), nullable=False),
        sa.Column("body_json", sa.String(), nullable=True),
        sa.Column("nonce_hex", sa.String(), nullable=True),
        sa.Column("digest_hex", sa.String(), nullable=False),
        sa.Column("chain_hex", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log_entry")),
        sa.UniqueConstraint("chain_hex", name=op.f("uq_log_entry_chain_hex")),
    )
    op.create_table(
        "make",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("cereal", sa.String(), nullable=False),
        sa.Column("phenol_ppm", sa.Double(), nullable=False),
        sa.Column("campaign", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_make_name_not_empty")),
        sa.CheckConstraint("phenol_ppm >= 0", name=op.f("ck_make_phenol_ppm_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_make")),
        sa.UniqueConstraint("name", name=op.f("uq_make_name")),
    )
    op.create_table(
        "panel_session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("held_on", sa.Date(), nullable=True),
        sa.Column("site", sa.String(), nullable=True),
        sa.Column(
            "status",
            sa.Enum(
                "draft",
                "sealed",
                "open",
                "closed",
                "revealed",
                name="session_status",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column(
            "manner",
            sa.Enum("nose", "taste", name="manner", native_enum=False, create_constraint=True),
            nullable=False,
        ),
        sa.Column("loaded", sa.Boolean(), nullable=False),
        sa.Column("rehearsal", sa.Boolean(), nullable=False),
        sa.Column("blind", sa.Boolean(), nullable=False),
        sa.Column("may_go_back", sa.Boolean(), nullable=False),
        sa.Column("codes_per_assessor", sa.Boolean(), nullable=False),
        sa.Column("pause_s", sa.Integer(), nullable=False),
        sa.Column("pour_ml", sa.Double(), nullable=False),
        sa.Column("nosing_abv", sa.Double(), nullable=False),
        sa.Column("own_words", sa.Boolean(), nullable=False),
        sa.Column("most_words", sa.Integer(), nullable=True),
        sa.Column("key_hash", sa.String(), nullable=True),
        sa.Column("sealed_at", sa.DateTime(), nullable=True),
        sa.Column("opened_at", sa.DateTime(), nullable=True),
        sa.Column("closed_at", sa.DateTime(), nullable=True),
        sa.Column("revealed_at", sa.DateTime(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_panel_session_name_not_empty")),
        sa.CheckConstraint(
            "status = 'draft' OR loaded OR key_hash IS NOT NULL",
            name=op.f("ck_panel_session_sealed_has_hash"),
        ),
        sa.CheckConstraint("most_words >= 1", name=op.f("ck_panel_session_most_words_from_one")),
        sa.CheckConstraint(
            "nosing_abv > 0 AND nosing_abv <= 100",
            name=op.f("ck_panel_session_nosing_abv_in_range"),
        ),
        sa.CheckConstraint("pause_s >= 0", name=op.f("ck_panel_session_pause_s_not_negative")),
        sa.CheckConstraint("pour_ml > 0", name=op.f("ck_panel_session_pour_ml_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_panel_session")),
        sa.UniqueConstraint("name", name=op.f("uq_panel_session_name")),
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("joined_on", sa.Date(), nullable=True),
        sa.Column("left_on", sa.Date(), nullable=True),
        sa.Column("pin_hash", sa.String(), nullable=True),
        sa.CheckConstraint("code <> ''", name=op.f("ck_person_code_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("code", name=op.f("uq_person_code")),
    )
    op.create_table(
        "rule_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("in_force", sa.Boolean(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_rule_set_name_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rule_set")),
        sa.UniqueConstraint("name", name=op.f("uq_rule_set_name")),
    )
    op.create_table(
        "target",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_target_name_not_empty")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_target")),
        sa.UniqueConstraint("name", name=op.f("uq_target_name")),
    )
    op.create_table(
        "booth_seat",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("token", sa.String(), nullable=False),
        sa.Column("taken_at", sa.DateTime(), nullable=False),
        sa.Column("place", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_booth_seat_person_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_booth_seat_session_id")
        ),
        sa.PrimaryKeyConstraint("session_id", "person_id", name=op.f("pk_booth_seat")),
    )
    op.create_table(
        "descriptor_version",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("descriptor_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("meaning", sa.String(), nullable=True),
        sa.Column("reference_recipe", sa.String(), nullable=True),
        sa.Column(
            "stage",
            sa.Enum(
                "nose",
                "arrival",
                "development",
                "finish",
                name="stage",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("low_words", sa.String(), nullable=False),
        sa.Column("high_words", sa.String(), nullable=False),
        sa.Column("pools_with_previous", sa.Boolean(), nullable=False),
        sa.Column("introduced_on", sa.Date(), nullable=True),
        sa.Column("retired_on", sa.Date(), nullable=True),
        sa.CheckConstraint("version >= 1", name=op.f("ck_descriptor_version_version_from_one")),
        sa.ForeignKeyConstraint(
            ["descriptor_id"], ["descriptor.id"], name=op.f("fk_descriptor_version_descriptor_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_descriptor_version")),
        sa.UniqueConstraint(
            "descriptor_id", "version", name=op.f("uq_descriptor_version_descriptor_id_version")
        ),
    )
    op.create_table(
        "filling",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("cask_id", sa.Integer(), nullable=False),
        sa.Column("make_id", sa.Integer(), nullable=True),
        sa.Column("filled_on", sa.Date(), nullable=False),
        sa.Column("fill_number", sa.Integer(), nullable=False),
        sa.Column("previous", sa.String(), nullable=True),
        sa.Column("fill_abv", sa.Double(), nullable=False),
        sa.Column("fill_bulk_l", sa.Double(), nullable=False),
        sa.Column("owner", sa.String(), nullable=True),
        sa.Column("hold_reason", sa.String(), nullable=True),
        sa.Column("hold_until", sa.Date(), nullable=True),
        sa.Column("site", sa.String(), nullable=True),
        sa.Column("warehouse", sa.String(), nullable=True),
        sa.Column("row", sa.String(), nullable=True),
        sa.Column("tier", sa.String(), nullable=True),
        sa.CheckConstraint(
            "fill_abv > 0 AND fill_abv <= 100", name=op.f("ck_filling_fill_abv_in_range")
        ),
        sa.CheckConstraint("fill_bulk_l > 0", name=op.f("ck_filling_fill_bulk_l_positive")),
        sa.CheckConstraint("fill_number >= 1", name=op.f("ck_filling_fill_number_from_one")),
        sa.CheckConstraint(
            "hold_until IS NULL OR hold_reason IS NOT NULL", name=op.f("ck_filling_hold_has_reason")
        ),
        sa.ForeignKeyConstraint(["cask_id"], ["cask.id"], name=op.f("fk_filling_cask_id")),
        sa.ForeignKeyConstraint(["make_id"], ["make.id"], name=op.f("fk_filling_make_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_filling")),
        sa.UniqueConstraint("label", name=op.f("uq_filling_label")),
    )
    with op.batch_alter_table("filling", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_filling_cask_id"), ["cask_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_filling_make_id"), ["make_id"], unique=False)

    op.create_table(
        "key_secret",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("seed_hex", sa.String(), nullable=False),
        sa.Column("nonce_hex", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_key_secret_session_id")
        ),
        sa.PrimaryKeyConstraint("session_id", name=op.f("pk_key_secret")),
    )
    op.create_table(
        "mixing_note",
        sa.Column("descriptor_id", sa.Integer(), nullable=False),
        sa.Column("exponent", sa.Double(), nullable=False),
        sa.Column("gain", sa.Double(), nullable=False),
        sa.Column("panel_sd", sa.Double(), nullable=True),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("kept_on", sa.Date(), nullable=False),
        sa.CheckConstraint("exponent > 0", name=op.f("ck_mixing_note_exponent_positive")),
        sa.CheckConstraint("gain > 0", name=op.f("ck_mixing_note_gain_positive")),
        sa.CheckConstraint(
            "panel_sd IS NULL OR panel_sd >= 0", name=op.f("ck_mixing_note_panel_sd_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["descriptor_id"], ["descriptor.id"], name=op.f("fk_mixing_note_descriptor_id")
        ),
        sa.PrimaryKeyConstraint("descriptor_id", name=op.f("pk_mixing_note")),
    )
    op.create_table(
        "own_word",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("word", sa.String(), nullable=False),
        sa.Column("named_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("word <> ''", name=op.f("ck_own_word_word_not_empty")),
        sa.CheckConstraint("place >= 1", name=op.f("ck_own_word_place_from_one")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_own_word_person_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_own_word_session_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_word")),
        sa.UniqueConstraint(
            "session_id", "person_id", "place", name=op.f("uq_own_word_session_id_person_id_place")
        ),
        sa.UniqueConstraint(
            "session_id", "person_id", "word", name=op.f("uq_own_word_session_id_person_id_word")
        ),
    )
    with op.batch_alter_table("own_word", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_own_word_person_id"), ["person_id"], unique=False)

    op.create_table(
        "person_name",
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("full_name", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_person_name_person_id")
        ),
        sa.PrimaryKeyConstraint("person_id", name=op.f("pk_person_name")),
    )
    op.create_table(
        "person_role",
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column(
            "role",
            sa.Enum(
                "lead",
                "pourer",
                "assessor",
                "blender",
                name="role",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_person_role_person_id")
        ),
        sa.PrimaryKeyConstraint("person_id", "role", name=op.f("pk_person_role")),
    )
    op.create_table(
        "release",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("target_id", sa.Integer(), nullable=True),
        sa.Column(
            "status",
            sa.Enum(
                "proposed",
                "signed",
                "bottled",
                "cancelled",
                name="release_status",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("planned_on", sa.Date(), nullable=False),
        sa.Column("proposed_by", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=True),
        sa.Column("bottling_on", sa.Date(), nullable=True),
        sa.Column("age_statement_years", sa.Integer(), nullable=True),
        sa.Column("bottles", sa.Integer(), nullable=True),
        sa.Column("bottle_ml", sa.Double(), nullable=False),
        sa.Column("abv", sa.Double(), nullable=True),
        sa.Column("loss_fraction", sa.Double(), nullable=False),
        sa.Column("chill_filtered", sa.Boolean(), nullable=False),
        sa.Column("limits_json", sa.String(), nullable=True),
        sa.Column("predicted_json", sa.String(), nullable=True),
        sa.Column("disgorged_on", sa.Date(), nullable=True),
        sa.Column("vat_litres", sa.Double(), nullable=True),
        sa.Column("vat_abv", sa.Double(), nullable=True),
        sa.Column("found_json", sa.String(), nullable=True),
        sa.Column("lot_code", sa.String(), nullable=True),
        sa.Column("signed_by", sa.String(), nullable=True),
        sa.Column("signed_at", sa.DateTime(), nullable=True),
        sa.Column("signed_despite", sa.String(), nullable=True),
        sa.Column("bottled_on", sa.Date(), nullable=True),
        sa.Column("cancelled_on", sa.Date(), nullable=True),
        sa.Column("cancelled_because", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_release_name_not_empty")),
        sa.CheckConstraint(
            "status <> 'bottled' OR bottled_on IS NOT NULL", name=op.f("ck_release_bottled_has_day")
        ),
        sa.CheckConstraint(
            "status NOT IN ('signed', 'bottled') OR lot_code IS NOT NULL",
            name=op.f("ck_release_signed_has_lot"),
        ),
        sa.CheckConstraint(
            "abv IS NULL OR (abv > 0 AND abv <= 100)", name=op.f("ck_release_abv_in_range")
        ),
        sa.CheckConstraint("bottle_ml > 0", name=op.f("ck_release_bottle_ml_positive")),
        sa.CheckConstraint(
            "bottles IS NULL OR bottles > 0", name=op.f("ck_release_bottles_positive")
        ),
        sa.CheckConstraint(
            "loss_fraction >= 0 AND loss_fraction < 1",
            name=op.f("ck_release_loss_fraction_in_range"),
        ),
        sa.CheckConstraint(
            "lot_code IS NULL OR (signed_by IS NOT NULL AND disgorged_on IS NOT NULL)",
            name=op.f("ck_release_lot_is_signed"),
        ),
        sa.CheckConstraint(
            "signed_by IS NULL OR signed_by <> proposed_by", name=op.f("ck_release_second_person")
        ),
        sa.CheckConstraint(
            "vat_abv IS NULL OR (vat_abv > 0 AND vat_abv <= 100)",
            name=op.f("ck_release_vat_abv_real"),
        ),
        sa.ForeignKeyConstraint(["target_id"], ["target.id"], name=op.f("fk_release_target_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_release")),
        sa.UniqueConstraint("lot_code", name=op.f("uq_release_lot_code")),
        sa.UniqueConstraint("name", name=op.f("uq_release_name")),
    )
    op.create_table(
        "rule_line",
        sa.Column("rule_set_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "minimum age",
                "minimum strength",
                "largest cask",
                "age statement",
                name="rule_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("cites", sa.String(), nullable=False),
        sa.CheckConstraint("cites <> ''", name=op.f("ck_rule_line_cites_its_law")),
        sa.CheckConstraint(
            "value IS NULL OR value >= 0", name=op.f("ck_rule_line_value_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["rule_set_id"], ["rule_set.id"], name=op.f("fk_rule_line_rule_set_id")
        ),
        sa.PrimaryKeyConstraint("rule_set_id", "kind", name=op.f("pk_rule_line")),
    )
    op.create_table(
        "serving",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("flight", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("pouring", sa.Integer(), nullable=False),
        sa.Column("warm_up", sa.Boolean(), nullable=False),
        sa.Column(
            "status",
            sa.Enum(
                "kept",
                "void",
                "re-poured",
                "swap_suspected",
                name="serving_status",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("taken_order", sa.Integer(), nullable=True),
        sa.Column("taken_at", sa.DateTime(), nullable=True),
        sa.Column("finished_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("flight >= 1", name=op.f("ck_serving_flight_from_one")),
        sa.CheckConstraint(
            "position IS NULL OR position >= 0", name=op.f("ck_serving_position_not_negative")
        ),
        sa.CheckConstraint("pouring >= 1", name=op.f("ck_serving_pouring_from_one")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_serving_person_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_serving_session_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_serving")),
        sa.UniqueConstraint(
            "session_id",
            "person_id",
            "code",
            "pouring",
            name=op.f("uq_serving_session_id_person_id_code_pouring"),
        ),
    )
    with op.batch_alter_table("serving", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_serving_person_id"), ["person_id"], unique=False)

    op.create_table(
        "session_assessor",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("seat", sa.Integer(), nullable=False),
        sa.Column("knew_key", sa.Boolean(), nullable=False),
        sa.Column("not_at_best", sa.Boolean(), nullable=False),
        sa.Column("finished_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_session_assessor_person_id")
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_session_assessor_session_id")
        ),
        sa.PrimaryKeyConstraint("session_id", "person_id", name=op.f("pk_session_assessor")),
        sa.UniqueConstraint("session_id", "seat", name=op.f("uq_session_assessor_session_id_seat")),
    )
    op.create_table(
        "sign_in_guard",
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("wait_until", sa.DateTime(), nullable=True),
        sa.CheckConstraint("failures >= 0", name=op.f("ck_sign_in_guard_failures_not_negative")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_sign_in_guard_person_id")
        ),
        sa.PrimaryKeyConstraint("person_id", name=op.f("pk_sign_in_guard")),
    )
    op.create_table(
        "target_line",
        sa.Column("target_id", sa.Integer(), nullable=False),
        sa.Column("descriptor_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("aim", sa.Double(), nullable=False),
        sa.Column("tolerance", sa.Double(), nullable=False),
        sa.Column("weight", sa.Double(), nullable=False),
        sa.CheckConstraint("aim >= 0 AND aim <= 100", name=op.f("ck_target_line_aim_on_scale")),
        sa.CheckConstraint("tolerance > 0", name=op.f("ck_target_line_tolerance_positive")),
        sa.CheckConstraint("weight > 0", name=op.f("ck_target_line_weight_positive")),
        sa.ForeignKeyConstraint(
            ["descriptor_id"], ["descriptor.id"], name=op.f("fk_target_line_descriptor_id")
        ),
        sa.ForeignKeyConstraint(
            ["target_id"], ["target.id"], name=op.f("fk_target_line_target_id")
        ),
        sa.PrimaryKeyConstraint("target_id", "descriptor_id", name=op.f("pk_target_line")),
    )
    op.create_table(
        "draw",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "cask",
                "reference",
                "trial",
                "market",
                name="draw_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("filling_id", sa.Integer(), nullable=True),
        sa.Column("batch", sa.String(), nullable=True),
        sa.Column("drawn_on", sa.Date(), nullable=True),
        sa.Column("abv", sa.Double(), nullable=True),
        sa.Column("volume_ml", sa.Double(), nullable=True),
        sa.Column("reduced_to", sa.Double(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("reason", sa.String(), nullable=True),
        sa.Column("fate", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(kind = 'cask') = (filling_id IS NOT NULL)", name=op.f("ck_draw_filling_if_cask")
        ),
        sa.CheckConstraint("label <> ''", name=op.f("ck_draw_label_not_empty")),
        sa.CheckConstraint(
            "abv IS NULL OR (abv > 0 AND abv <= 100)", name=op.f("ck_draw_abv_in_range")
        ),
        sa.CheckConstraint(
            "reduced_to IS NULL OR reduced_to > 0", name=op.f("ck_draw_reduced_to_positive")
        ),
        sa.CheckConstraint(
            "volume_ml IS NULL OR volume_ml > 0", name=op.f("ck_draw_volume_ml_positive")
        ),
        sa.ForeignKeyConstraint(["filling_id"], ["filling.id"], name=op.f("fk_draw_filling_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_draw")),
        sa.UniqueConstraint("label", name=op.f("uq_draw_label")),
    )
    with op.batch_alter_table("draw", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_draw_filling_id"), ["filling_id"], unique=False)

    op.create_table(
        "fault_mark",
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column(
            "fault",
            sa.Enum(
                "sulphur",
                "mould or cork",
                "rubber",
                "solvent",
                "soapy",
                "over-wooded",
                "other",
                name="fault",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("marked_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_fault_mark_serving_id")
        ),
        sa.PrimaryKeyConstraint("serving_id", "fault", name=op.f("pk_fault_mark")),
    )
    op.create_table(
        "filling_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "moved",
                "leak found",
                "repaired",
                "re-racked",
                "topped",
                "reserved",
                "freed",
                "emptied",
                name="event_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("happened_on", sa.Date(), nullable=False),
        sa.Column("entry", sa.Integer(), nullable=False),
        sa.Column("parent_filling_id", sa.Integer(), nullable=True),
        sa.Column("litres", sa.Double(), nullable=True),
        sa.Column("abv", sa.Double(), nullable=True),
        sa.Column("site", sa.String(), nullable=True),
        sa.Column("warehouse", sa.String(), nullable=True),
        sa.Column("row", sa.String(), nullable=True),
        sa.Column("tier", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(kind = 're-racked') = (parent_filling_id IS NOT NULL)",
            name=op.f("ck_filling_event_parent_if_re_racked"),
        ),
        sa.CheckConstraint(
            "kind NOT IN ('re-racked', 'topped') OR litres IS NOT NULL",
            name=op.f("ck_filling_event_litres_if_moved_in"),
        ),
        sa.CheckConstraint("entry >= 1", name=op.f("ck_filling_event_entry_from_one")),
        sa.CheckConstraint(
            "litres IS NULL OR litres > 0", name=op.f("ck_filling_event_litres_positive")
        ),
        sa.ForeignKeyConstraint(
            ["filling_id"], ["filling.id"], name=op.f("fk_filling_event_filling_id")
        ),
        sa.ForeignKeyConstraint(
            ["parent_filling_id"], ["filling.id"], name=op.f("fk_filling_event_parent_filling_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_filling_event")),
        sa.UniqueConstraint(
            "filling_id",
            "kind",
            "happened_on",
            "parent_filling_id",
            "entry",
            name="uq_filling_event_told_once",
        ),
    )
    with op.batch_alter_table("filling_event", schema=None) as batch_op:
        batch_op.create_index(
            "ix_filling_event_happened", ["filling_id", "happened_on"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_filling_event_parent_filling_id"), ["parent_filling_id"], unique=False
        )
        batch_op.create_index(
            "uq_filling_event_told_once_alone",
            ["filling_id", "kind", "happened_on", "entry"],
            unique=True,
            sqlite_where=sa.text("parent_filling_id IS NULL"),
            postgresql_where=sa.text("parent_filling_id IS NULL"),
        )

    op.create_table(
        "lead_call",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("serving_id", sa.Integer(), nullable=True),
        sa.Column(
            "reason",
            sa.Enum(
                "spilled",
                "doubtful glass",
                "water",
                "other",
                name="call_reason",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("called_at", sa.DateTime(), nullable=False),
        sa.Column("answered_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_lead_call_person_id")),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_lead_call_serving_id")
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_lead_call_session_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lead_call")),
    )
    with op.batch_alter_table("lead_call", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lead_call_session_id"), ["session_id"], unique=False)

    op.create_table(
        "own_score",
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("own_word_id", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("given_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "value >= 0 AND value <= 100", name=op.f("ck_own_score_value_on_the_line")
        ),
        sa.ForeignKeyConstraint(
            ["own_word_id"], ["own_word.id"], name=op.f("fk_own_score_own_word_id")
        ),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_own_score_serving_id")
        ),
        sa.PrimaryKeyConstraint("serving_id", "own_word_id", name=op.f("pk_own_score")),
    )
    op.create_table(
        "own_score_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("own_word_id", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["own_word_id"], ["own_word.id"], name=op.f("fk_own_score_change_own_word_id")
        ),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_own_score_change_serving_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_score_change")),
    )
    with op.batch_alter_table("own_score_change", schema=None) as batch_op:
        batch_op.create_index(
            "ix_own_score_change_line", ["serving_id", "own_word_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_own_score_change_own_word_id"), ["own_word_id"], unique=False
        )

    op.create_table(
        "own_word_match",
        sa.Column("own_word_id", sa.Integer(), nullable=False),
        sa.Column("descriptor_id", sa.Integer(), nullable=False),
        sa.Column("confirmed_by", sa.String(), nullable=False),
        sa.Column("confirmed_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["descriptor_id"], ["descriptor.id"], name=op.f("fk_own_word_match_descriptor_id")
        ),
        sa.ForeignKeyConstraint(
            ["own_word_id"], ["own_word.id"], name=op.f("fk_own_word_match_own_word_id")
        ),
        sa.PrimaryKeyConstraint("own_word_id", name=op.f("pk_own_word_match")),
    )
    with op.batch_alter_table("own_word_match", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_own_word_match_descriptor_id"), ["descriptor_id"], unique=False
        )

    op.create_table(
        "regauge",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column("gauged_on", sa.Date(), nullable=False),
        sa.Column("bulk_l", sa.Double(), nullable=False),
        sa.Column("abv", sa.Double(), nullable=False),
        sa.Column("temperature_c", sa.Double(), nullable=True),
        sa.Column(
            "method",
            sa.Enum(
                "weighed", "dipped", name="gauge_method", native_enum=False, create_constraint=True
            ),
            nullable=False,
        ),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("abv > 0 AND abv <= 100", name=op.f("ck_regauge_abv_in_range")),
        sa.CheckConstraint("bulk_l >= 0", name=op.f("ck_regauge_bulk_l_not_negative")),
        sa.CheckConstraint(
            "temperature_c IS NULL OR (temperature_c >= -20 AND temperature_c <= 40)",
            name=op.f("ck_regauge_temperature_c_in_range"),
        ),
        sa.ForeignKeyConstraint(["filling_id"], ["filling.id"], name=op.f("fk_regauge_filling_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_regauge")),
        sa.UniqueConstraint(
            "filling_id", "gauged_on", name=op.f("uq_regauge_filling_id_gauged_on")
        ),
    )
    op.create_table(
        "release_part",
        sa.Column("release_id", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column("litres", sa.Double(), nullable=False),
        sa.Column("abv", sa.Double(), nullable=True),
        sa.Column("whole", sa.Boolean(), nullable=False),
        sa.Column("given_l", sa.Double(), nullable=True),
        sa.Column("given_abv", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "given_abv IS NULL OR (given_abv > 0 AND given_abv <= 100)",
            name=op.f("ck_release_part_abv"),
        ),
        sa.CheckConstraint(
            "given_l IS NULL OR given_l >= 0", name=op.f("ck_release_part_given_l_not_negative")
        ),
        sa.CheckConstraint("litres > 0", name=op.f("ck_release_part_litres_positive")),
        sa.ForeignKeyConstraint(
            ["filling_id"], ["filling.id"], name=op.f("fk_release_part_filling_id")
        ),
        sa.ForeignKeyConstraint(
            ["release_id"], ["release.id"], name=op.f("fk_release_part_release_id")
        ),
        sa.PrimaryKeyConstraint("release_id", "filling_id", name=op.f("pk_release_part")),
    )
    with op.batch_alter_table("release_part", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_release_part_filling_id"), ["filling_id"], unique=False
        )

    op.create_table(
        "score",
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("descriptor_version_id", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("given_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["descriptor_version_id"],
            ["descriptor_version.id"],
            name=op.f("fk_score_descriptor_version_id"),
        ),
        sa.ForeignKeyConstraint(["serving_id"], ["serving.id"], name=op.f("fk_score_serving_id")),
        sa.PrimaryKeyConstraint("serving_id", "descriptor_version_id", name=op.f("pk_score")),
    )
    op.create_table(
        "score_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("descriptor_version_id", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["descriptor_version_id"],
            ["descriptor_version.id"],
            name=op.f("fk_score_change_descriptor_version_id"),
        ),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_score_change_serving_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_score_change")),
    )
    with op.batch_alter_table("score_change", schema=None) as batch_op:
        batch_op.create_index(
            "ix_score_change_line", ["serving_id", "descriptor_version_id"], unique=False
        )

    op.create_table(
        "serving_mark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column(
            "status",
            sa.Enum(
                "kept",
                "void",
                "re-poured",
                "swap_suspected",
                name="marked_status",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("marked_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_serving_mark_serving_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_serving_mark")),
    )
    with op.batch_alter_table("serving_mark", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_serving_mark_serving_id"), ["serving_id"], unique=False
        )

    op.create_table(
        "serving_note",
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("written_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_serving_note_serving_id")
        ),
        sa.PrimaryKeyConstraint("serving_id", name=op.f("pk_serving_note")),
    )
    op.create_table(
        "session_descriptor",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("descriptor_version_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("scale_low", sa.Double(), nullable=False),
        sa.Column("scale_high", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "scale_high > scale_low", name=op.f("ck_session_descriptor_scale_has_length")
        ),
        sa.ForeignKeyConstraint(
            ["descriptor_version_id"],
            ["descriptor_version.id"],
            name=op.f("fk_session_descriptor_descriptor_version_id"),
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_session_descriptor_session_id")
        ),
        sa.PrimaryKeyConstraint(
            "session_id", "descriptor_version_id", name=op.f("pk_session_descriptor")
        ),
        sa.UniqueConstraint(
            "session_id", "place", name=op.f("uq_session_descriptor_session_id_place")
        ),
    )
    op.create_table(
        "draw_part",
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column("millilitres", sa.Double(), nullable=False),
        sa.CheckConstraint("millilitres > 0", name=op.f("ck_draw_part_millilitres_positive")),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_draw_part_draw_id")),
        sa.ForeignKeyConstraint(
            ["filling_id"], ["filling.id"], name=op.f("fk_draw_part_filling_id")
        ),
        sa.PrimaryKeyConstraint("draw_id", "filling_id", name=op.f("pk_draw_part")),
    )
    op.create_table(
        "key_row",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("tray", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "test",
                "reference",
                "warm_up",
                "trial",
                "market",
                name="glass_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("replicate", sa.Integer(), nullable=False),
        sa.CheckConstraint("replicate >= 1", name=op.f("ck_key_row_replicate_from_one")),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_key_row_draw_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_key_row_session_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_key_row")),
        sa.UniqueConstraint(
            "session_id", "tray", "code", name=op.f("uq_key_row_session_id_tray_code")
        ),
        sa.UniqueConstraint(
            "session_id",
            "tray",
            "draw_id",
            "kind",
            "replicate",
            name=op.f("uq_key_row_session_id_tray_draw_id_kind_replicate"),
        ),
    )
    with op.batch_alter_table("key_row", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_key_row_draw_id"), ["draw_id"], unique=False)

    op.create_table(
        "planned_draw",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "test",
                "reference",
                "warm_up",
                "trial",
                "market",
                name="planned_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("glasses", sa.Integer(), nullable=False),
        sa.CheckConstraint("glasses >= 1", name=op.f("ck_planned_draw_glasses_from_one")),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_planned_draw_draw_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_planned_draw_session_id")
        ),
        sa.PrimaryKeyConstraint("session_id", "draw_id", "kind", name=op.f("pk_planned_draw")),
    )
    op.create_table(
        "release_bench",
        sa.Column("release_id", sa.Integer(), nullable=False),
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_release_bench_draw_id")),
        sa.ForeignKeyConstraint(
            ["release_id"], ["release.id"], name=op.f("fk_release_bench_release_id")
        ),
        sa.PrimaryKeyConstraint("release_id", "draw_id", name=op.f("pk_release_bench")),
    )


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
