"""The Kubernetes manifests: valid by the published schemas, hardened, and of one mind with the image and the settings.

The schemas are those that the Kubernetes project publishes with each release, as the package `kubernetes-validate`
carries them; strict, so that a misspelt field is a fault.
"""

from pathlib import Path
from typing import Any

import kubernetes_validate
import pytest
import yaml
from tests.contract.documents import contract

from stillstock import __version__
from stillstock.settings import PROMISED, Limits, settings_table

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "service/deploy/kubernetes"
OLDEST, NEWEST = "1.30", kubernetes_validate.latest_version()
MANIFESTS: dict[str, dict[str, Any]] = {
    path.stem: yaml.safe_load(path.read_text()) for path in sorted(FOLDER.glob("*.yaml"))
}
DEPLOYMENT = MANIFESTS["deployment"]["spec"]
POD = DEPLOYMENT["template"]["spec"]
CONTAINER = POD["containers"][0]


def test_there_is_one_of_each():
    kinds = [manifest["kind"] for manifest in MANIFESTS.values()]
    assert sorted(kinds) == [
        "Deployment", "HorizontalPodAutoscaler", "NetworkPolicy", "PodDisruptionBudget", "Service"
    ]  # fmt: skip


@pytest.mark.parametrize("version", [OLDEST, NEWEST])
@pytest.mark.parametrize("name", MANIFESTS)
def test_a_manifest_keeps_the_published_schema(name, version):
    kubernetes_validate.validate(MANIFESTS[name], version, strict=True)


def test_a_misspelt_field_would_be_seen():
    wrong = {**MANIFESTS["deployment"], "spec": {**DEPLOYMENT, "replica": 2}}
    with pytest.raises(kubernetes_validate.ValidationError, match="replica"):
        kubernetes_validate.validate(wrong, NEWEST, strict=True)


def test_every_selector_finds_the_pods():
    labels = DEPLOYMENT["template"]["metadata"]["labels"].items()
    selectors = [
        DEPLOYMENT["selector"]["matchLabels"],
        POD["topologySpreadConstraints"][0]["labelSelector"]["matchLabels"],
        MANIFESTS["service"]["spec"]["selector"],
        MANIFESTS["pod-disruption-budget"]["spec"]["selector"]["matchLabels"],
        MANIFESTS["network-policy"]["spec"]["podSelector"]["matchLabels"],
    ]
    assert all(selector.items() <= labels for selector in selectors)
    target = MANIFESTS["autoscaler"]["spec"]["scaleTargetRef"]
    assert (target["kind"], target["name"]) == ("Deployment", MANIFESTS["deployment"]["metadata"]["name"])


def test_the_pod_keeps_the_restricted_standard():
    """Kubernetes documentation, "Pod Security Standards", profile Restricted (from memory); read-only root is ours."""
    pod, container = POD["securityContext"], CONTAINER["securityContext"]
    assert pod["runAsNonRoot"] is True
    assert pod["seccompProfile"]["type"] == "RuntimeDefault"
    assert container["allowPrivilegeEscalation"] is False
    assert container["capabilities"] == {"drop": ["ALL"]}
    assert container["readOnlyRootFilesystem"] is True
    assert not {"hostNetwork", "hostPID", "hostIPC"} & set(POD)
    assert all("emptyDir" in volume for volume in POD["volumes"])
    assert POD["automountServiceAccountToken"] is False


def test_the_image_is_the_one_that_the_dockerfile_makes():
    dockerfile = (ROOT / "Dockerfile").read_text()
    port = CONTAINER["ports"][0]["containerPort"]
    assert f"EXPOSE {port}\n" in dockerfile
    assert f"USER {POD['securityContext']['runAsUser']}:{POD['securityContext']['runAsGroup']}\n" in dockerfile
    assert CONTAINER["image"] == f"stillstock:{__version__}"
    assert DEPLOYMENT["template"]["metadata"]["annotations"]["prometheus.io/port"] == str(port)


def test_probes_and_metrics_are_operations_of_the_contract():
    probes = [CONTAINER[name]["httpGet"] for name in ("startupProbe", "readinessProbe", "livenessProbe")]
    paths = {probe["path"] for probe in probes} | {
        DEPLOYMENT["template"]["metadata"]["annotations"]["prometheus.io/path"]
    }
    assert paths == {"/healthz", "/readyz", "/metrics"}
    assert all("get" in contract()["paths"][path] for path in paths)
    named = {CONTAINER["ports"][0]["name"]}
    assert {probe["port"] for probe in probes} == named
    assert {port["targetPort"] for port in MANIFESTS["service"]["spec"]["ports"]} == named


def test_every_variable_is_a_setting():
    assert {variable["name"] for variable in CONTAINER["env"]} <= set(settings_table())
    assert POD["enableServiceLinks"] is False  # a service of this name would set variables of its own


def test_a_pod_has_the_memory_for_all_that_it_may_compute_at_once():
    limit = CONTAINER["resources"]["limits"]["memory"]
    assert limit.endswith("Gi")
    workers = next(int(each["value"]) for each in CONTAINER["env"] if each["name"] == "STILLSTOCK_WORKERS")
    most = max(each.megabytes for each in PROMISED.values())
    assert int(limit[:-2]) * 2**30 >= workers * Limits().in_flight * most * 10**6


def test_a_pod_that_goes_gets_the_time_that_it_takes():
    """Waiting for the balancers and finishing what is in flight both lie within the grace period."""
    wait = CONTAINER["lifecycle"]["preStop"]["sleep"]["seconds"]
    finish = next(int(each["value"]) for each in CONTAINER["env"] if each["name"] == "STILLSTOCK_GRACEFUL_SECONDS")
    assert wait > 0
    assert finish >= max(each.seconds for each in PROMISED.values())
    assert POD["terminationGracePeriodSeconds"] >= wait + finish + 5


def test_there_is_always_a_pod_that_answers():
    rolling = DEPLOYMENT["strategy"]["rollingUpdate"]
    assert rolling["maxUnavailable"] == 0
    assert DEPLOYMENT["replicas"] >= 2
    assert MANIFESTS["autoscaler"]["spec"]["minReplicas"] > MANIFESTS["pod-disruption-budget"]["spec"]["maxUnavailable"]


def test_the_service_asks_nobody_and_is_asked_on_one_port():
    policy = MANIFESTS["network-policy"]["spec"]
    assert set(policy["policyTypes"]) == {"Ingress", "Egress"}
    assert policy["egress"] == []
    assert [port["port"] for rule in policy["ingress"] for port in rule["ports"]] == [CONTAINER["ports"][0]["name"]]
    assert all(rule["from"] for rule in policy["ingress"])
