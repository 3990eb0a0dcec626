"""Addresses of evidence, proof, packages and calculations."""

from django.urls import path

from qa.api import (
    calculations,
    changes,
    collections,
    evidence,
    keeping,
    nonconformances,
    packages,
    proof,
    requirement_sets,
    second_eyes,
    signing_keys,
    statements,
    traces,
    uploads,
    warranties,
)
from qa.calculations.registry import CALCULATIONS

urlpatterns = [
    path("requirement-sets", requirement_sets.RequirementSetListView.as_view()),
    path("requirement-sets/check", requirement_sets.RequirementSetCheckView.as_view()),
    path("requirement-sets/examples", requirement_sets.RequirementSetExampleView.as_view()),
    path(
        "requirement-sets/<uuid:set_id>/compare",
        requirement_sets.RequirementSetCompareView.as_view(),
    ),
    path("changes", changes.ChangesView.as_view()),
    path("evidence", evidence.EvidenceListView.as_view()),
    path("evidence/<uuid:evidence_id>/file", evidence.EvidenceFileView.as_view()),
    path("evidence/<uuid:evidence_id>/preview", evidence.EvidencePreviewView.as_view()),
    path("evidence/<uuid:evidence_id>/shown-time", evidence.ShownTimeView.as_view()),
    path("evidence/<uuid:evidence_id>/take-back", evidence.TakeBackView.as_view()),
    path("uploads", uploads.UploadListView.as_view()),
    path("uploads/<uuid:upload_id>", uploads.UploadView.as_view()),
    path("repairs/<uuid:repair_id>/verdicts", proof.VerdictsView.as_view()),
    path("repairs/<uuid:repair_id>/hold-points", proof.HoldPointsView.as_view()),
    path("repairs/<uuid:repair_id>/close", proof.CloseView.as_view()),
    path("repairs/<uuid:repair_id>/waivers", proof.WaiverListView.as_view()),
    path("repairs/<uuid:repair_id>/judgements", second_eyes.JudgementView.as_view()),
    path("repairs/<uuid:repair_id>/second-reviews", second_eyes.SecondReviewListView.as_view()),
    path(
        "repairs/<uuid:repair_id>/nonconformances", nonconformances.NonconformanceListView.as_view()
    ),
    path(
        "nonconformances/<uuid:nonconformance_id>/decision", nonconformances.DecisionView.as_view()
    ),
    path(
        "nonconformances/<uuid:nonconformance_id>/withdraw",
        nonconformances.WithdrawalView.as_view(),
    ),
    path(
        "nonconformances/<uuid:nonconformance_id>/done",
        nonconformances.DoneView.as_view(),
    ),
    path("packages", packages.PackageListView.as_view()),
    path("packages/<uuid:package_id>", packages.PackageView.as_view()),
    path("packages/<uuid:package_id>/file", packages.PackageFileView.as_view()),
    path("packages/<uuid:package_id>/answer", packages.AnswerView.as_view()),
    path("packages/<uuid:package_id>/links", keeping.LinkListView.as_view()),
    path("package-links/<uuid:link_id>/call-back", keeping.LinkCallBackView.as_view()),
    path("packages/<uuid:package_id>/kept", keeping.KeptView.as_view()),
    path("work-orders/<uuid:order_id>/legal-holds", keeping.HoldListView.as_view()),
    path("legal-holds/<uuid:hold_id>/lift", keeping.HoldLiftView.as_view()),
    path("collections", collections.CollectionListView.as_view()),
    path("collections/<uuid:collection_id>", collections.CollectionView.as_view()),
    path("collections/<uuid:collection_id>/file", collections.CollectionFileView.as_view()),
    path("statements", statements.StatementView.as_view()),
    path("statements/csv", statements.StatementTableView.as_view()),
    path("statements/pdf", statements.StatementLetterView.as_view()),
    path("warranty-inspections", warranties.WarrantyInspectionListView.as_view()),
    path("lot-traces", traces.LotTraceView.as_view()),
    path("recall-lists", traces.RecallListView.as_view()),
    path("repairs/<uuid:repair_id>/materials", traces.MaterialsView.as_view()),
    path("signing-keys", signing_keys.SigningKeyListView.as_view()),
    path("calculations", calculations.CalculationListView.as_view()),
    *(
        path(f"calculations/{name}", calculations.view_of(calculation))
        for name, calculation in CALCULATIONS.items()
    ),
]
