"""A small MQTT 5 client for tests: collects messages, publishes at QoS 1, sends requests and waits for the reply."""
import json
import threading
import time
import uuid

import paho.mqtt.client as paho
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.subscribeoptions import SubscribeOptions

from waiting import PATIENCE, wait_for


class Message:
    def __init__(self, raw):
        self.topic, self.payload, self.retain, self.qos, self.properties = raw.topic, raw.payload, raw.retain, raw.qos, raw.properties

    def json(self):
        return json.loads(self.payload)

    @property
    def expiry_s(self):
        return getattr(self.properties, "MessageExpiryInterval", None)


class Client:
    def __init__(self, port, user=None, password=None):
        self.client = paho.Client(client_id=f"test-{uuid.uuid4().hex[:12]}", protocol=paho.MQTTv5)
        if user:
            self.client.username_pw_set(user, password)
        self.client.on_message = lambda _client, _data, raw: self._collect(Message(raw))
        self.client.on_subscribe = lambda *_: self.subscribed.set()
        connected = threading.Event()
        self.client.on_connect = lambda *_: connected.set()
        self.subscribed = threading.Event()
        self.collected = {}
        self.client.connect("127.0.0.1", port)
        self.client.loop_start()
        assert connected.wait(PATIENCE), "no connection to the broker"

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.client.disconnect()
        self.client.loop_stop()

    def _collect(self, message):
        for topic_filter, messages in list(self.collected.items()):  # further topics may be subscribed to meanwhile
            if paho.topic_matches_sub(topic_filter, message.topic):
                messages.append(message)

    def subscribe(self, topic_filter):
        """A list that grows with each message; retained ones keep their flag, live ones have none."""
        messages = self.collected.setdefault(topic_filter, [])
        self.subscribed.clear()
        self.client.subscribe(topic_filter, options=SubscribeOptions(qos=1, retainAsPublished=False))
        assert self.subscribed.wait(PATIENCE), f"no acknowledgement of the subscription to {topic_filter}"
        return messages

    def publish(self, topic, payload, properties=None, retain=False):
        """Returns once the broker has acknowledged it."""
        if isinstance(payload, (dict, list)):
            payload = json.dumps(payload)
        sent = self.client.publish(topic, payload, qos=1, retain=retain, properties=properties)
        sent.wait_for_publish(PATIENCE)
        assert sent.is_published(), f"{topic}: not acknowledged"

    def caught_up(self):
        """Returns when everything that the broker had received before this call, on subscribed topics, has been collected."""
        mark = f"test/marks/{uuid.uuid4().hex}"
        marks = self.subscribe(mark)
        self.publish(mark, "that was all")
        wait_for(lambda: marks, "a mark of our own")

    def ask(self, topic, request, patience=PATIENCE):
        """Sends a request by MQTT 5 and returns the reply, after checking that the correlation data came back."""
        response_topic, correlation = f"{topic.removesuffix('requests')}replies/{uuid.uuid4().hex}", uuid.uuid4().bytes
        replies = self.subscribe(response_topic)
        properties = Properties(PacketTypes.PUBLISH)
        properties.ResponseTopic, properties.CorrelationData = response_topic, correlation
        self.publish(topic, request, properties)
        deadline = time.monotonic() + patience
        while not replies:
            assert time.monotonic() < deadline, f"no reply to {request}"
            time.sleep(0.01)
        assert replies[0].properties.CorrelationData == correlation
        return replies[0].json()
